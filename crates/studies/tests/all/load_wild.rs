//! Whatever numbers a machine carries, the studies of load answer and never panic.

use crate::load_common::{laden, read};
use machine::Machine;
use machine::work::{Hand, LoadKind, LowHigh, Resists, Seat, Section, SpringKind};
use proptest::prelude::*;
use studies::assemble;
use studies::load::{
    LoadRequest, bands, judge_effort, judge_holds, judge_loaded, load, lost_motion, stretch,
};

/// Numbers that nobody writes and somebody will.
const WILD: [f64; 14] = [
    0.0,
    -0.0,
    1.0,
    -1.0,
    1e-300,
    -1e-12,
    0.5,
    7.0,
    1e6,
    1e300,
    -1e300,
    f64::INFINITY,
    f64::NEG_INFINITY,
    f64::NAN,
];

/// Puts one of the wild numbers in the place of one of the machine's.
fn spoil(m: &mut Machine, place: usize, with: usize) {
    let x = WILD[with % WILD.len()];
    let y = WILD[(with / WILD.len()) % WILD.len()];
    let w = &mut m.work;
    let both = Some(LowHigh { low: x, high: y });
    let pick = place / 24;
    match place % 24 {
        0 => w.usual.diameter = Some(x),
        1 => w.usual.clearance = both,
        2 => w.usual.friction = both,
        3 => w.usual.hole_places = Some(x),
        4 => w.usual.directions = None,
        5 => w.weight = Some(x),
        6 => {
            let n = w.materials.len().max(1);
            let material = &mut w.materials[pick % n];
            (material.modulus, material.shear, material.density) = (x, y, x);
        }
        7 => {
            let n = w.parts.len().max(1);
            if let Some(stock) = w.parts.get_mut(pick % n).and_then(|p| p.stock.as_mut()) {
                stock.section = Section::Tube([x, y]);
                stock.material = pick;
            }
        }
        8 => {
            let n = w.parts.len().max(1);
            w.parts
                .get_mut(pick % n)
                .into_iter()
                .for_each(|p| p.mass = Some(x));
        }
        9 => {
            let n = w.parts.len().max(1);
            w.parts
                .get_mut(pick % n)
                .into_iter()
                .for_each(|p| p.bearings = Some([x, y]));
        }
        10 => {
            let n = w.joints.len().max(1);
            let joint = &mut w.joints[pick % n];
            (joint.diameter, joint.length, joint.stiffness) = (Some(x), Some(y), Some(x));
        }
        11 => {
            let n = w.joints.len().max(1);
            let joint = &mut w.joints[pick % n];
            (joint.clearance, joint.friction) = (both, both);
        }
        12 => {
            for load in &mut w.loads {
                if let LoadKind::Squeezes { resists, .. } = &mut load.kind {
                    *resists = match pick % 4 {
                        0 => Resists::Constant { force: x, below: y },
                        1 => Resists::Linear {
                            begins: x,
                            stiffness: y,
                            layer: false,
                        },
                        2 => Resists::Table(vec![[x, y], [y, x]]),
                        _ => Resists::Table(Vec::new()),
                    };
                }
            }
        }
        13 => {
            for load in &mut w.loads {
                match &mut load.kind {
                    LoadKind::Force { force, along, .. } => (*force, *along) = (x, y),
                    LoadKind::Moment { moment, .. } => *moment = x,
                    LoadKind::Squeezes { .. } => {}
                }
            }
        }
        14 => {
            for spring in &mut w.springs {
                match &mut spring.kind {
                    SpringKind::Between { rate, free, .. } => (*rate, *free) = (x, y),
                    SpringKind::Torsion { rate, slack, .. } => (*rate, *slack) = (x, y),
                }
            }
        }
        15 => {
            for detent in &mut w.detents {
                detent.seat = if pick.is_multiple_of(2) {
                    Seat::Cone(x)
                } else {
                    Seat::Hole { hole: x, ball: y }
                };
                (detent.radius, detent.spring, detent.friction) = (y, x, both);
            }
        }
        16 => {
            for stiffness in &mut w.stiffnesses {
                stiffness.value = x;
            }
        }
        17 => w.hands.iter_mut().for_each(|h| {
            *h = Some(Hand {
                at: pick,
                along: Some(x),
                with: Some(pick),
                pushes_only: false,
            })
        }),
        18 => w.cases.clear(),
        19 => w.parts.clear(),
        20 => w.rods.clear(),
        21 => w.hands.clear(),
        22 => {
            for case in &mut w.cases {
                case.loads.push(pick);
                case.when.push((pick, x));
            }
        }
        _ => {
            for tolerance in &mut w.tolerances {
                tolerance.plus_minus = x;
            }
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 150, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn nothing_panics(spoilt in prop::collection::vec((0_usize..24 * 20, 0_usize..WILD.len() * WILD.len()), 1..4), set in 0.0..1.2_f64) {
        let text = laden()
            + "\n[clamp.ring]\nholds = \"set\"\nradius = \"12 mm\"\n[stiffness.foot]\nat = \"shaft-axis\"\nvalue = \"80 kN/mm\"\n";
        let mut m = read(&text);
        for (place, with) in spoilt {
            spoil(&mut m, place, with);
        }
        let model = assemble(&m);
        let mut stand = model.drawn();
        stand.drives[1] = set;
        let sweep = model.sweep("set", None, None, Some("14 deg")).unwrap();
        let _ = load(&model, &stand, &LoadRequest { case: None, sweep: Some(sweep) });
        let _ = load(&model, &stand, &LoadRequest::default());
        for case in 0..3 {
            let _ = stretch(&model, &stand, case);
            let _ = lost_motion(&model, &stand, case);
            let _ = bands(&model, &stand, Some(case), None);
            let _ = judge_loaded(&model, &stand, case, 0);
        }
        let _ = judge_effort(&model, &[], 1, None, &[]);
        let _ = judge_holds(&model, &[], 1, Some(0), &[]);
    }
}
