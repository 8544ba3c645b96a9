//! What gives under load, member by member.

use super::acting::LoadCase;
use super::answers::{Acted, ReadingStretch, Stretch, Stretched};
use super::gives::Members;
use super::loaded::balance;
use super::rig::Rig;
use super::stock::{made, stock};
use super::terms::{Term, taken_at, terms};
use super::{acting, gives, only, poses, say};
use crate::answers::{Finding, Inside, Severity};
use crate::assemble::{Model, Stand};
use crate::refusal::Refusal;
use crate::run::Bench;
use mechanics::stretch::compliance;
use mechanics::tangent::{Sensitivity, Singular};

/// Movements below this share of the greatest are nothing.
const NOTHING: f64 = 1e-9;

/// Beyond this share of the machine's size (or of a radian) stretch changes the machine that it is worked out on (own choice).
const TOO_FAR: f64 = 0.02;

/// A measure with its derivatives and its stretch under a case.
struct Yielding {
    weight: f64,
    sense: Sensitivity,
    on_params: Vec<f64>,
    /// What the stretch adds.
    moves: f64,
}

fn yielding(
    rig: &Rig<'_>,
    term: &Term,
    case: &LoadCase,
    members: &Members,
) -> Result<Yielding, Singular> {
    let params = rig.params(&term.here);
    let tangent = members.tangent(rig, &params, &term.here.poses)?;
    let loaded = balance(rig, &tangent, &params, &term.here.poses, case, members)?;
    let sense = tangent.sensitivity(&term.measure)?;
    let moves = loaded.stretch(&sense.by_param);
    Ok(Yielding {
        weight: term.weight,
        sense,
        on_params: loaded.on_params,
        moves,
    })
}

/// What the machine's stretch under a case adds to a reading, and the reading without load; none at a dead centre.
fn stretched(
    rig: &Rig<'_>,
    terms: &[Term],
    case: &LoadCase,
    members: &Members,
) -> Option<(f64, f64)> {
    let mut sum = (0.0, 0.0);
    for term in terms {
        let y = yielding(rig, term, case, members).ok()?;
        sum = (sum.0 + y.weight * y.sense.value, sum.1 + y.weight * y.moves);
    }
    Some(sum)
}

/// Loaded values of all readings under one case in one pose, and which member gives how much.
///
/// # Errors
/// No such case; values that cannot be reached; a dead centre.
pub fn stretch(model: &Model, stand: &Stand, case: usize) -> Result<Stretch, Refusal> {
    let rig = Rig::new(model);
    let case = only(acting::cases(&rig), case)?;
    let members = gives::members(&rig);
    let mut bench = Bench::new(model);
    let stand = poses::stand(model, Some(&case), stand);
    let here = bench.bring(&stand)?;
    let params = rig.params(&here);
    let dead = |_: Singular| {
        Refusal::new(
            "forces cannot be told here: the machine stands at a dead centre",
            "move a drive a little",
        )
    };
    let tangent = members.tangent(&rig, &params, &here.poses).map_err(dead)?;
    let loaded = balance(&rig, &tangent, &params, &here.poses, &case, &members).map_err(dead)?;
    let acted = case
        .acting
        .iter()
        .zip(loaded.acted.iter().zip(&loaded.snaps))
        .filter(|(a, _)| a.source != acting::Source::Weight);
    let mut answer = Stretch {
        machine: model.machine.name.clone(),
        case: case.name.clone(),
        held: model.held(&stand, None),
        acted: acted
            .map(|(a, (&(value, force), &snaps_to))| Acted {
                name: a.name.clone(),
                value,
                force,
                snaps_to,
            })
            .collect(),
        readings: Vec::new(),
        stiff: members.stiff.clone(),
        assumed: assumed(&rig, tangent.repeated()),
        findings: Vec::new(),
    };
    if loaded.untold {
        answer.assumed.push(String::from(
            "what gives is not told: how members share the load is not determined",
        ));
        return Ok(answer);
    }
    for reading in 0..model.machine.readings.len() {
        let Some(terms) = terms(&mut bench, reading, &here) else {
            continue;
        };
        if let Some(found) = of_reading(&rig, reading, &terms, &case, &members) {
            answer
                .findings
                .extend(finding(&rig, reading, &found, &case.name));
            answer.readings.push(found);
        }
    }
    Ok(answer)
}

fn assumed(rig: &Rig<'_>, repeated: bool) -> Vec<String> {
    let mut all = [
        "a part bends as bars of its stock along the shortest lines that join its holes; bosses, ribs and plates are stiffer",
        "a drive is held at the station of the hand's arm; the bend of the lever in the hand is left out",
        "at a stop the drive is held where it stands, not pressed on against the stop",
        "stretch is worked out in the pose without load",
    ]
    .map(String::from)
    .to_vec();
    if repeated {
        all.push(String::from("where joints repeat one another, rods and parts share a load by what they give, as if they had gone together without strain"));
    }
    let machine = &rig.model.machine;
    for slide in machine.slides.iter().filter(|s| s.middle.is_none()) {
        let part = &machine.parts[slide.part];
        let bends = stock(rig, made(rig, slide.part)).is_some() && part.carries.len() > 1;
        if let Some(first) = part.carries.first().filter(|_| bends) {
            all.push(format!(
                "slide {} holds {} at {}, the first point that it carries: name another with `middle = \"POINT\"`",
                slide.name, part.name, machine.points[*first].name
            ));
        }
    }
    all
}

fn of_reading(
    rig: &Rig<'_>,
    reading: usize,
    terms: &[Term],
    case: &LoadCase,
    members: &Members,
) -> Option<ReadingStretch> {
    let all: Vec<Yielding> = terms
        .iter()
        .map(|t| yielding(rig, t, case, members).ok())
        .collect::<Option<_>>()?;
    let sum = |of: &dyn Fn(&Yielding) -> f64| all.iter().map(|y| y.weight * of(y)).sum::<f64>();
    let free = sum(&|y| y.sense.value);
    let loaded = free + sum(&|y| y.moves);
    let moved: Vec<f64> = members
        .members
        .iter()
        .map(|m| sum(&|y| compliance(&m.gives, &y.sense.by_param, &y.on_params)))
        .collect();
    let sizes: f64 = moved.iter().map(|m| m.abs()).sum();
    let greatest = moved.iter().fold(0.0, |g: f64, m| g.max(m.abs()));
    let mut told = Vec::new();
    for (i, (member, moves)) in members.members.iter().zip(&moved).enumerate() {
        if moves.abs() <= NOTHING * greatest || *moves == 0.0 {
            continue;
        }
        let stiffer = members.with(i, 0.5);
        let (value, more) = stretched(rig, terms, case, &stiffer)?;
        let share = moves.abs() / sizes;
        told.push(Stretched {
            member: member.name.clone(),
            moves: *moves,
            share,
            doubled: value + more,
        });
    }
    told.sort_by(|a, b| b.moves.abs().total_cmp(&a.moves.abs()));
    let give = if let [only] = all.as_slice() {
        Some(compliance(
            &members.gives,
            &only.sense.by_param,
            &only.sense.by_param,
        ))
    } else {
        None
    };
    Some(ReadingStretch {
        reading: rig.model.reading(reading),
        free,
        loaded,
        taken_at: taken_at(terms),
        give,
        members: told,
    })
}

fn finding(rig: &Rig<'_>, reading: usize, found: &ReadingStretch, case: &str) -> Option<Finding> {
    let r = &rig.model.machine.readings[reading];
    let most = found.members.first()?;
    let show = |v: f64| say::fine(v, r.unit);
    let size = match Inside::of(r.unit) {
        Inside::Radian => 1.0,
        _ => rig.mechanism.size(&rig.mechanism.params),
    };
    let moves = (found.loaded - found.free).abs();
    if moves > TOO_FAR * size {
        return Some(Finding {
            severity: Severity::Caution,
            sentence: format!(
                "{} would give by {} under {case}, most of it in {}: so far the machine stands elsewhere than drawn, and its forces and its give are not to be trusted",
                r.name,
                show(moves),
                most.member
            ),
            number: Some(moves),
            margin: None,
            inside: Some(Inside::of(r.unit)),
            what_to_try: Some(format!("make {} stiffer", most.member)),
            about: format!("reading.{}", r.name),
            place: r.place,
        });
    }
    let sentence = format!(
        "{} goes from {} to {} under {case}: most of it in {} ({}); twice as stiff there, it would be {}",
        r.name,
        show(found.free),
        show(found.loaded),
        most.member,
        say::percent(most.share),
        show(most.doubled)
    );
    Some(Finding {
        severity: Severity::Note,
        sentence,
        number: Some(found.loaded - found.free),
        margin: None,
        inside: Some(Inside::of(r.unit)),
        what_to_try: Some(format!("make {} stiffer first", most.member)),
        about: format!("reading.{}", r.name),
        place: r.place,
    })
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]
mod tests {
    use super::*;
    use mechanics::tangent::Tangent;

    /// The unit-load method against the machine itself: every member yielding a little more and a little less, closed anew.
    #[test]
    fn stretch_agrees_with_the_machine_closed_anew() {
        let text = include_str!("../../../../examples/strap-embosser/machine.toml");
        let machine = machine::read_text("machine.toml", text).machine.unwrap();
        let model = crate::assemble(&machine);
        let rig = Rig::new(&model);
        let members = gives::members(&rig);
        let case = only(acting::cases(&rig), 0).unwrap();
        let mut bench = Bench::new(&model);
        for set in [0.1, 0.6, 1.2] {
            let mut stand = poses::stand(&model, Some(&case), &model.drawn());
            let lever = machine.drives.iter().position(|d| d.name == "set").unwrap();
            stand.drives[lever] = set;
            let here = bench.bring(&stand).unwrap();
            let params = rig.params(&here);
            let tangent = Tangent::new(&rig.mechanism, &params, &here.poses).unwrap();
            let loaded = balance(&rig, &tangent, &params, &here.poses, &case, &members).unwrap();
            let closed = |factor: f64, measure| {
                let moved = params.iter().zip(&loaded.yields);
                let moved: Vec<f64> = moved.map(|(p, d)| p + factor * d).collect();
                let mut poses = here.poses.clone();
                mechanics::close(&rig.mechanism, &moved, &mut poses).unwrap();
                rig.mechanism.measure(&moved, &poses, measure)
            };
            for gauge in &model.gauges {
                let crate::assemble::Gauge::Pose(measure) = gauge else {
                    continue;
                };
                let told = loaded.stretch(&tangent.sensitivity(measure).unwrap().by_param);
                let slope = (closed(0.1, measure) - closed(-0.1, measure)) / 0.2;
                assert!(
                    (told - slope).abs() <= 1e-4 * slope.abs() + 1e-9,
                    "{told} {slope}"
                );
                // Straight on to the whole stretch it is off by little.
                let whole = closed(1.0, measure) - closed(0.0, measure);
                assert!(
                    (told - whole).abs() <= 0.02 * whole.abs() + 1e-6,
                    "{told} {whole}"
                );
            }
        }
    }
}
