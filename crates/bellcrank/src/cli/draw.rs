//! `bellcrank draw`.

use sheets::{Options, Pose};

use super::args::{Draw, Look};
use super::fault::Fault;
use super::progress::during;
use super::question::{self, Read, shown};
use super::report::{Answer, Report, Written};
use super::{Done, output, picture};

impl From<Look> for sheets::Look {
    fn from(look: Look) -> Self {
        match look {
            Look::Print => Self::Print,
            Look::Board => Self::Board,
        }
    }
}

pub(crate) fn run(args: &Draw, json: bool) -> Result<Done, Fault> {
    let mut read = question::read(&args.file)?;
    let kind = picture::kind(&args.output, &read.sources)?;
    let drawing = drawing(args, &read)?;
    let look = args.look.into();
    let bytes = match kind {
        picture::Picture::Svg => drawing.svg(look).into_bytes(),
        picture::Picture::Png => during("painting", || drawing.png(look, picture::DOTS_PER_MM))
            .map_err(|error| picture::unpainted(&args.output, &error))?,
    };
    output::write(&args.output, &bytes)?;
    let file = shown(&args.output);
    let exit = read.judge();
    let text = if json {
        let answer = Answer::Draw(Written { written: file });
        Report::answered(exit, &read, answer).text()
    } else {
        output::warn(&read);
        let [width, height] = drawing.size();
        format!(
            "Wrote {file}: scale {}, sheet {width:.0} x {height:.0} mm\n",
            drawing.scale
        )
    };
    Ok(Done { exit, text })
}

fn drawing(args: &Draw, read: &Read) -> Result<sheets::Drawing, Fault> {
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
    during("drawing", || {
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
    })
    .map_err(Fault::machine)
}
