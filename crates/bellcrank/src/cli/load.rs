//! `bellcrank load`.

use studies::load::answers::{BandsTable, Loads, LostMotion, Stretch};
use studies::load::{LoadRequest, bands as bands_of, load, lost_motion, stand_under, stretch};
use studies::{Finding, Refusal, Severity, Stand, Sweep};

use super::args::{Format, Load as Args};
use super::check::borne_text;
use super::exit::Exit;
use super::fault::Fault;
use super::load_table::{self, Shown};
use super::picture::{self, Picture};
use super::progress::during;
use super::question::{self, Read, shown};
use super::report::{Answer, Loaded};
use super::table::wrap;
use super::{Done, WIDTH, Worked, output};

pub(crate) fn run(args: &Args, json: bool) -> Result<Done, Fault> {
    let read = question::read(&args.file)?;
    let kind = |path: &Option<std::path::PathBuf>| match path {
        Some(path) => picture::kind(path, &read.sources).map(Some),
        None => Ok(None),
    };
    let (curves, arrows, shafts) = (kind(&args.plot)?, kind(&args.arrows)?, kind(&args.shafts)?);
    let (mut worked, poses) = during("loading", || {
        question::within(&read, on(args, &read, output::colour_out()))
    })?;
    if let (Some(path), Some(kind), Answer::Load(answer)) = (&args.plot, curves, &worked.answer) {
        write(path, kind, &sheets::plot::curves(&plot(answer, &read)))?;
    }
    let mut undrawn = None;
    if let (Some(path), Some(kind), Answer::Load(answer)) = (&args.shafts, shafts, &worked.answer) {
        let along = sheets::plot::of_shafts(&answer.loads, &read.machine);
        if along.panels.is_empty() {
            undrawn = Some(format!(
                "no picture of shafts is made: no shaft of {} is loaded at stations that lie apart; write it as [shaft.NAME] and give its points a `station`",
                read.machine.name
            ));
        } else {
            write(path, kind, &sheets::plot::curves(&along))?;
        }
    }
    if let (Some(sentence), Answer::Load(answer)) = (undrawn, &mut worked.answer) {
        answer.shafts = None;
        if args.format == Format::Text {
            worked
                .text
                .push_str(&format!("\n{}\n", wrap(&sentence, WIDTH, 2)));
        }
        answer.loads.assumed.push(sentence);
    }
    if let (Some(path), Some(kind)) = (&args.arrows, arrows) {
        let case = match &args.case {
            Some(name) => Some(question::case(&read.machine, name)?),
            None => None,
        };
        let drive = match &args.drive {
            Some(name) => question::drive(&read.machine, Some(name))?,
            None => not_put(&read, case),
        };
        let drive = (drive < read.machine.drives.len()).then_some(drive);
        draw_arrows(&read, &poses, (case, drive), path, kind)?;
    }
    Ok(worked.done(&read, json))
}

/// The effort and the readings with their bands, as curves.
pub(crate) fn plot(answer: &Loaded, read: &Read) -> sheets::plot::Plot {
    sheets::plot::of_loads(&answer.loads, &answer.bands, &read.machine)
}

/// Loads a machine that was read; with where each case was looked at closely.
pub(crate) fn on(args: &Args, read: &Read, colour: bool) -> Result<(Worked, Vec<Stand>), Fault> {
    let case = match &args.case {
        Some(name) => Some(question::case(&read.machine, name)?),
        None => None,
    };
    let drive = match &args.drive {
        Some(name) => question::drive(&read.machine, Some(name))?,
        None => not_put(read, case),
    };
    let stand = question::stand(read, &args.pose)?;
    let name = read
        .machine
        .drives
        .get(drive)
        .map_or("", |drive| drive.name.as_str());
    // A machine without a drive stands still, and is loaded all the same.
    let range = [&args.from, &args.to, &args.step].map(Option::as_deref);
    let sweep = if read.machine.drives.is_empty() {
        question::drive_if_asked(&read.machine, &range)?;
        None
    } else {
        Some(question::sweep(read, name, range)?)
    };
    let put = args.pose.at.iter().any(|text| question::names(text, name));
    let (answer, poses) = study(read, &stand, case, sweep.as_ref(), put).map_err(Fault::machine)?;
    let bad = |f: &Finding| matches!(f.severity, Severity::Fault | Severity::Miss);
    let exit = match read.judge() {
        Exit::Kept if answer.loads.findings.iter().any(bad) => Exit::Missed,
        other => other,
    };
    let text = match args.format {
        Format::Csv => load_table::csv(&answer, read.machine.unit),
        _ => {
            load_table::text(&Shown {
                answer: &answer,
                most: args.most,
                length: read.machine.unit,
                sources: &read.sources,
                colour,
            }) + &borne_text(read.asks(), colour)
                + &question::others(read, args.drive.as_deref(), drive)
        }
    };
    let answer = Answer::Load(Loaded {
        plot: args.plot.as_deref().map(shown),
        arrows: args.arrows.as_deref().map(shown),
        shafts: args.shafts.as_deref().map(shown),
        ..answer
    });
    Ok((Worked { exit, answer, text }, poses))
}

fn write(
    path: &std::path::Path,
    kind: Picture,
    figure: &sheets::plot::Figure,
) -> Result<(), Fault> {
    picture::write(
        path,
        kind,
        |look| figure.svg(look),
        |look, dots| figure.png(look, dots),
    )
}

/// The first drive that no case puts anywhere: the one that the hand moves under load.
fn not_put(read: &Read, case: Option<usize>) -> usize {
    let cases = read.machine.work.cases.iter().enumerate();
    let put: Vec<usize> = cases
        .filter(|(index, _)| case.is_none_or(|case| case == *index))
        .flat_map(|(_, case)| case.when.iter().map(|(drive, _)| *drive))
        .collect();
    (0..read.machine.drives.len())
        .find(|drive| !put.contains(drive))
        .unwrap_or(0)
}

/// Everything about the loads, and where each case was looked at closely.
fn study(
    read: &Read,
    stand: &Stand,
    case: Option<usize>,
    sweep: Option<&Sweep>,
    put: bool,
) -> Result<(Loaded, Vec<Stand>), Refusal> {
    let model = &read.model;
    let request = LoadRequest {
        case,
        sweep: sweep.cloned(),
    };
    let mut loads = load(model, stand, &request)?;
    let mut stretches: Vec<Stretch> = Vec::new();
    let mut rattles: Vec<LostMotion> = Vec::new();
    let mut poses = Vec::new();
    for (index, number) in cases(read, case).into_iter().enumerate() {
        let mut pose = stand.clone();
        if let Some(sweep) = sweep.filter(|_| !put)
            && let Some(at) = hardest(&loads, index)
        {
            pose.put(sweep.drive, at);
        }
        match stretch(model, &pose, number) {
            Ok(found) => {
                loads.findings.extend(found.findings.iter().cloned());
                stretches.push(found);
            }
            Err(refusal) => loads.assumed.push(refusal.message),
        }
        match lost_motion(model, &pose, number) {
            Ok(found) => {
                loads.findings.extend(found.findings.iter().cloned());
                rattles.push(found);
            }
            Err(refusal) => loads.assumed.push(refusal.message),
        }
        poses.push(pose);
    }
    loads.findings.sort_by_key(|finding| finding.severity);
    let mut seen: Vec<Finding> = Vec::new();
    loads.findings.retain(|finding| {
        let new = !seen.contains(finding);
        if new {
            seen.push(finding.clone());
        }
        new
    });
    let bands = cases(read, case)
        .into_iter()
        .filter_map(|number| bands_of(model, stand, Some(number), sweep).ok());
    let answer = Loaded {
        bands: bands.collect(),
        asks: read.asks().to_vec(),
        stretch: stretches,
        lost_motion: rattles,
        loads,
        plot: None,
        arrows: None,
        shafts: None,
    };
    Ok((answer, poses))
}

/// Numbers of the cases that are asked for.
fn cases(read: &Read, case: Option<usize>) -> Vec<usize> {
    match case {
        Some(case) => vec![case],
        None => (0..read.machine.work.cases.len().max(1)).collect(),
    }
}

/// Where the drive stands when some joint is pressed hardest under a case.
fn hardest(loads: &Loads, case: usize) -> Option<f64> {
    let case = loads.cases.get(case)?;
    let most = |joints: &[studies::load::answers::JointForce]| {
        joints
            .iter()
            .zip(&loads.joints)
            .filter(|(_, joint)| !joint.is_moment)
            .fold(0.0_f64, |most, (force, _)| most.max(force.most))
    };
    let rows = case
        .rows
        .iter()
        .filter(|row| row.reached && !row.dead_centre);
    let mut worst: Option<(f64, f64)> = None;
    for row in rows {
        let (Some(at), force) = (row.at, most(&row.joints)) else {
            continue;
        };
        if worst.is_none_or(|(_, known)| force > known) {
            worst = Some((at, force));
        }
    }
    worst.map(|(at, _)| at)
}

/// Readings with what load, play and tolerance do to them, when the machine file tells of any: one table a case, or one without
/// load.
pub(super) fn bands(read: &Read, stand: &Stand, sweep: Option<&Sweep>) -> Vec<BandsTable> {
    let work = &read.machine.work;
    let loaded = !work.loads.is_empty() || !work.springs.is_empty() || work.weight.is_some();
    let usual = &work.usual;
    let made = !work.tolerances.is_empty()
        || !work.joints.is_empty()
        || usual.clearance.is_some()
        || usual.hole_places.is_some()
        || usual.rod_lengths.is_some()
        || usual.clock_angles.is_some()
        || usual.directions.is_some();
    let table = |case| bands_of(&read.model, stand, case, sweep).ok();
    if loaded {
        let tables = cases(read, None).into_iter();
        tables.filter_map(|case| table(Some(case))).collect()
    } else if made {
        table(None).into_iter().collect()
    } else {
        Vec::new()
    }
}

/// The same in one pose, as made: a case would put the machine where it presses.
pub(crate) fn bands_here(read: &Read, stand: &Stand) -> Result<BandsTable, Fault> {
    bands_of(&read.model, stand, None, None).map_err(Fault::machine)
}

/// Draws the first case that is asked for, where it is looked at closely.
fn draw_arrows(
    read: &Read,
    poses: &[Stand],
    (case, drive): (Option<usize>, Option<usize>),
    path: &std::path::Path,
    kind: Picture,
) -> Result<(), Fault> {
    let Some(asked) = poses.first() else {
        return Ok(());
    };
    let number = case.unwrap_or(0);
    let stand = stand_under(&read.model, number, asked);
    let drawing = during("drawing", || {
        let found = studies::load::arrows(&read.model, &stand, number, drive)?;
        let standing = studies::standing(&read.model, &stand)?;
        let pose = sheets::Pose {
            standing: &standing,
            drives: &stand.drives,
            settings: &stand.settings,
        };
        let forces = sheets::all_forces(&found, read.machine.unit);
        // What is shown stands in the block under it.
        let mut machine = read.machine.clone();
        let hand = found.hand.map_or_else(
            || String::from("drives held by a moment of their own"),
            |drive| format!("{drive} held by the hand"),
        );
        machine.note = format!("Forces under {}, without friction, {hand}", found.case);
        Ok(sheets::draw_forces(
            &machine,
            &pose,
            &forces,
            // Names of points would stand in the way of the forces.
            &sheets::Options {
                names: sheets::Names::Parts,
                ..sheets::Options::default()
            },
        ))
    })
    .map_err(Fault::machine)?;
    picture::write(
        path,
        kind,
        |look| drawing.svg(look),
        |look, dots| drawing.png(look, dots),
    )
}
