//! `bellcrank draw`.

use sheets::{Options, Pose};

use super::args::{Draw, Look};
use super::fault::Fault;
use super::progress::during;
use super::question::{self, Read, shown};
use super::report::{Answer, Written};
use super::{Done, Worked, output, picture};

impl From<Look> for sheets::Look {
    fn from(look: Look) -> Self {
        match look {
            Look::Print => Self::Print,
            Look::Board => Self::Board,
        }
    }
}

pub(crate) fn run(args: &Draw, json: bool) -> Result<Done, Fault> {
    let read = question::read(&args.file)?;
    let kind = picture::kind(&args.output, &read.sources)?;
    let drawing = during("drawing", || drawing(args, &read))?;
    let look = args.look.into();
    let bytes = match kind {
        picture::Picture::Svg => drawing.svg(look).into_bytes(),
        picture::Picture::Png => during("painting", || drawing.png(look, picture::DOTS_PER_MM))
            .map_err(|error| picture::unpainted(&args.output, &error))?,
    };
    output::write(&args.output, &bytes)?;
    let file = shown(&args.output);
    let [width, height] = drawing.size();
    let worked = Worked {
        exit: read.judge(),
        text: format!(
            "Wrote {file}: scale {}, sheet {width:.0} x {height:.0} mm\n",
            drawing.scale
        ),
        answer: Answer::Draw(Written { written: file }),
    };
    Ok(worked.done(&read, json))
}

/// Draws a machine that was read.
pub(crate) fn drawing(args: &Draw, read: &Read) -> Result<sheets::Drawing, Fault> {
    let plane = match &args.plane {
        Some(name) => Some(question::plane(&read.machine, name)?),
        None => None,
    };
    let points = question::points(&read.machine, &args.trace)?;
    let stand = question::stand(read, &args.pose)?;
    let mut ghost_stands = Vec::new();
    for text in &args.ghost {
        let mut ghost = stand.clone();
        question::put_drive(read, &mut ghost, "--ghost", text)?;
        ghost_stands.push(ghost);
    }
    let drive = if points.is_empty() && args.drive.is_none() {
        0
    } else {
        question::drive(&read.machine, args.drive.as_deref())?
    };
    let draw = || {
        let standing = studies::standing(&read.model, &stand)?;
        let ghosts = ghost_stands
            .iter()
            .map(|ghost| studies::standing(&read.model, ghost))
            .collect::<Result<Vec<_>, _>>()?;
        let traces = points
            .iter()
            .map(|&point| studies::trace(&read.model, &stand, point, drive))
            .collect::<Result<Vec<_>, _>>()?;
        let pose = Pose {
            standing: &standing,
            drives: &stand.drives,
            settings: &stand.settings,
        };
        let options = Options {
            scale: args.scale,
            plane,
            ..Options::default()
        };
        let ghosts: Vec<_> = ghosts.iter().collect();
        Ok(sheets::draw(
            &read.machine,
            &pose,
            &ghosts,
            &traces,
            &options,
        ))
    };
    draw().map_err(Fault::machine)
}
