//! The setting sheet: the order of assembly, pressing and heating, torques, where adjustments start, what readings should be.

use super::flow::{Column, Flow, settled};
use super::paper::{Block, Leaf, Page};
use super::papers::capital;
use machine::Machine;
use quantity::Unit;
use shop::{Part, order, words};
use studies::parts::answers::Parts;
use studies::{Inside, Quantity, SettingUp};

/// What the studies say for the setting sheet.
#[derive(Clone, Debug)]
pub struct Setting {
    /// Readings to expect, and what settings do.
    pub up: SettingUp,
    /// Elements with the forces that press them in.
    pub parts: Parts,
}

const fn column(head: &'static str, share: f64) -> Column {
    Column { head, share }
}

pub(super) fn draw(machine: &Machine, parts: &[Part], setting: &Setting, leaf: Leaf) -> Vec<Page> {
    let block = Block {
        machine: machine.name.clone(),
        title: "Setting".to_owned(),
        ..Block::default()
    };
    settled(|foot| {
        let flow = Flow::new(leaf, block.clone(), "Setting", false).clear(foot);
        written(machine, parts, setting, flow)
    })
}

fn written(machine: &Machine, parts: &[Part], setting: &Setting, mut flow: Flow) -> Flow {
    flow.title("Assembly and setting");
    flow.caution("Springs store force, faces close and rods pinch: springs last, fingers out, the first turns by hand and without work. Whoever builds it guards what can catch a hand.");
    let rows: Vec<Vec<String>> = order::stages(machine, parts)
        .into_iter()
        .enumerate()
        .map(|(n, s)| vec![(n + 1).to_string(), s.what, s.check])
        .collect();
    flow.section(
        "Order of assembly",
        "",
        &[
            column("", 8.0),
            column("what", 105.0),
            column("before going on", 72.0),
        ],
        &rows,
    );
    stands(&mut flow, machine, parts);
    pressing(&mut flow, machine, &setting.parts);
    torques(&mut flow, machine);
    starts(&mut flow, machine);
    readings(&mut flow, &setting.up);
    effects(&mut flow, &setting.up);
    flow
}

/// Names of the file in a sentence, as they are said.
fn said(machine: &Machine, text: &str) -> String {
    let pieces = machine.work.making.pieces.iter().map(|p| &p.name);
    let mut names: Vec<&String> = machine
        .parts
        .iter()
        .map(|p| &p.name)
        .chain(pieces)
        .filter(|n| n.contains('-'))
        .collect();
    // The longest first, so that no part of a name is taken for one.
    names.sort_by_key(|n| std::cmp::Reverse(n.len()));
    names.into_iter().fold(text.to_owned(), |t, n| {
        t.replace(n.as_str(), &words::spoken(n))
    })
}

/// An element in a part of wood: its bushings go in by hand and are glued, nothing is pressed or warmed.
fn in_wood(machine: &Machine, at: &str) -> bool {
    let parts = machine.parts.iter().zip(&machine.work.parts);
    parts
        .filter(|(p, _)| at.starts_with(&format!("{} at ", p.name)))
        .filter_map(|(_, made)| machine.work.materials.get(made.stock.as_ref()?.material))
        .any(words::is_wood)
}

fn pressing(flow: &mut Flow, machine: &Machine, parts: &Parts) {
    // Like elements in like places need the same: told once.
    let mut rows: Vec<Vec<String>> = Vec::new();
    for item in parts.items.iter().filter(|i| !in_wood(machine, &i.at)) {
        let said: Vec<String> = item
            .figures
            .iter()
            .filter(|f| {
                // Inner rings are pushed onto their pins.
                (f.what.contains("press") || f.what.contains("push")) && f.unit == "N"
                    || f.what.contains("warmer")
                    || f.what.contains("bore closes")
            })
            .map(|f| self::said(machine, &f.sentence))
            .collect();
        // What is pressed is what goes into the hole.
        let hole = ["bored hole", "reamed hole", "drilled hole"]
            .iter()
            .any(|w| item.what.starts_with(w));
        if !said.is_empty() {
            rows.push(vec![
                format!(
                    "{}{}, {}",
                    if hole { "pin in the " } else { "" },
                    item.what,
                    words::spoken(&item.at)
                ),
                said.join("; "),
            ]);
        }
    }
    if rows.is_empty() {
        return;
    }
    flow.section(
        "Pressing and heating",
        "Forces are the greatest that the limits allow, at a friction of 0.2; what is measured on the parts is mostly less. Hot parts: dry gloves, no flame on bearings.",
        &[column("what", 60.0), column("how", 125.0)], &rows);
}

/// Where pieces of the frame, shafts and plates stand.
fn stands(flow: &mut Flow, machine: &Machine, parts: &[Part]) {
    let rows: Vec<Vec<String>> = order::stands(machine, parts)
        .into_iter()
        .map(|s| {
            let [right, up] = s.at;
            vec![s.what, s.plane, s.point, right, up, s.layer]
        })
        .collect();
    if rows.is_empty() {
        return;
    }
    let mut text = format!(
        "As drawn, in {}: right and up in the plane of the machine file, layers from its middle towards the viewer.",
        words::unit_name(machine.unit)
    );
    for plane in order::planes(machine) {
        text = format!("{text} {}.", capital(&plane));
    }
    flow.section(
        "Where frame, shafts and plates stand",
        &text,
        &[
            column("what", 42.0),
            column("plane", 18.0),
            column("point", 42.0),
            column("right", 22.0),
            column("up", 22.0),
            column("layer, from to", 39.0),
        ],
        &rows,
    );
}

fn torques(flow: &mut Flow, machine: &Machine) {
    let all = order::torques(machine);
    if all.is_empty() {
        return;
    }
    let inches = machine.unit == Unit::Inch;
    let (moment, force) = if inches {
        (Unit::PoundForceInch, Unit::PoundForce)
    } else {
        (Unit::NewtonMetre, Unit::Kilonewton)
    };
    let places = usize::from(!inches);
    let rows: Vec<Vec<String>> = all
        .iter()
        .map(|t| {
            let [dry, oiled] = t
                .torque
                .map(|x| words::number(moment.from_inside(x), places));
            let clamps = words::number(force.from_inside(t.preload), places);
            vec![t.screw.clone(), dry, oiled, clamps]
        })
        .collect();
    let heads = if inches {
        ["dry, lbf·in", "oiled, lbf·in", "clamps, lbf"]
    } else {
        ["dry, N·m", "oiled, N·m", "clamps, kN"]
    };
    flow.section(
        "Screws",
        "Drawn to 75 % of the proof load; torque scatters by a quarter all the same. Into aluminium, cast iron or short threads less. Lock nuts: two spanners, so that nothing turns with them.",
        &[
            column("screw", 90.0),
            column(heads[0], 30.0),
            column(heads[1], 30.0),
            column(heads[2], 30.0),
        ],
        &rows,
    );
}

fn starts(flow: &mut Flow, machine: &Machine) {
    let rows: Vec<Vec<String>> = order::starts(machine)
        .into_iter()
        .map(|s| vec![words::spoken(&s.name), s.from, s.measured, s.limits])
        .collect();
    if rows.is_empty() {
        return;
    }
    flow.section(
        "Where adjustments start",
        "Closed is screwed in as far as it goes. The thread lengths of rod ends are catalogue values: the length over pins decides.",
        &[
            column("adjustment", 30.0),
            column("start", 52.0),
            column("measured", 50.0),
            column("limits", 53.0),
        ],
        &rows,
    );
}

/// A value as the instrument shows it.
fn shown(value: f64, q: &Quantity, signed: bool) -> String {
    let x = q.unit.from_inside(value);
    let places = match q.inside {
        Inside::Millimetre if q.unit == Unit::Inch => 4,
        Inside::Millimetre => 3,
        Inside::Count => 0,
        _ => 2,
    };
    let text = if signed {
        format!("{x:+.places$}")
    } else {
        format!("{x:.places$}")
    };
    format!("{text} {}", q.unit.symbol())
}

/// What a reading is taken with (common practice).
fn instrument(q: &Quantity, values: &[Option<f64>]) -> String {
    let most = values.iter().flatten().fold(0.0_f64, |m, x| m.max(x.abs()));
    let text = match q.inside {
        Inside::Millimetre => {
            let division = if q.unit == Unit::Inch {
                "0.0005 in"
            } else {
                "0.01"
            };
            let by = if most > 25.0 {
                "height gauge or caliper"
            } else {
                "feeler or gauge block"
            };
            return format!("{by}; changes by dial indicator {division}");
        }
        // A protractor shows 0.05 to 0.1 degrees (makers' data, from memory).
        // What stands at zero in the drawn place alone may turn any way.
        Inside::Radian if values.len() > 2 && most < 0.5_f64.to_radians() => {
            "dial indicator at both ends of a known length (0.01° is 0.017 on 100)"
        }
        Inside::Radian => "digital protractor, or indicator at a known radius",
        _ => "as it is counted",
    };
    text.to_owned()
}

fn readings(flow: &mut Flow, up: &SettingUp) {
    if up.readings.is_empty() || up.spots.is_empty() {
        return;
    }
    let rows: Vec<Vec<String>> = up
        .readings
        .iter()
        .enumerate()
        .map(|(r, q)| {
            let values: Vec<Option<f64>> = up
                .spots
                .iter()
                .map(|s| s.values.get(r).copied().flatten())
                .collect();
            let told: Vec<String> = up
                .spots
                .iter()
                .zip(&values)
                .filter_map(|(spot, v)| {
                    let value = shown((*v)?, q, false);
                    Some(match &spot.moved {
                        None => format!("as drawn {value}"),
                        Some((drive, at)) => {
                            format!(
                                "{} {}: {value}",
                                words::spoken(&drive.name),
                                shown(*at, drive, false)
                            )
                        }
                    })
                })
                .collect();
            vec![
                words::spoken(&q.name),
                if told.is_empty() {
                    "cannot be taken here".to_owned()
                } else {
                    told.join("; ")
                },
                instrument(q, &values),
            ]
        })
        .collect();
    flow.section(
        "What to read",
        "Everything at its start and as drawn but for the one drive that is named; cold, unloaded, each reading approached from the same side.",
        &[
            column("reading", 32.0),
            column("what it should read", 93.0),
            column("with", 60.0),
        ],
        &rows,
    );
}

fn effects(flow: &mut Flow, up: &SettingUp) {
    let rows: Vec<Vec<String>> = up
        .effects
        .iter()
        .map(|e| {
            let told: Vec<String> = up
                .readings
                .iter()
                .zip(&e.changes)
                .filter_map(|(q, c)| {
                    let c = (*c)?;
                    let text = shown(c, q, true);
                    // What does not show on the instrument is not told.
                    text.chars()
                        .any(|c| ('1'..='9').contains(&c))
                        .then(|| format!("{} {text}", words::spoken(&q.name)))
                })
                .collect();
            vec![
                words::spoken(&e.setting.name),
                shown(e.step, &e.setting, true),
                if told.is_empty() {
                    "nothing that shows".to_owned()
                } else {
                    told.join("; ")
                },
            ]
        })
        .collect();
    if rows.is_empty() {
        return;
    }
    flow.section(
        "What one step of a setting does",
        "At the drawn place. One setting at a time; when one passes its limit, go back and take the next.",
        &[
            column("setting", 32.0),
            column("step", 28.0),
            column("changes", 125.0),
        ],
        &rows,
    );
}
