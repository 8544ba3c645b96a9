//! Where adjustments start, and how tight screws are drawn.

use crate::{buying, rods, words};
use elements::threads::preload;
use machine::Machine;
use machine::making::Of;
use machine::model::Adjusts;

/// Where an adjustment starts.
#[derive(Clone, Debug, PartialEq)]
pub struct Start {
    /// Name of the setting, or of the rod.
    pub name: String,
    /// From closed, or the hole, the angle, the shim.
    pub from: String,
    /// How far it may go.
    pub limits: String,
    /// How it is measured at the start.
    pub measured: String,
}

/// The start of every adjustment; rods that no setting names are told too.
pub fn starts(machine: &Machine) -> Vec<Start> {
    let mut all = Vec::new();
    let set: Vec<usize> = machine
        .settings
        .iter()
        .filter_map(|s| match s.adjusts {
            Adjusts::Rod(r) => Some(r),
            _ => None,
        })
        .collect();
    for setting in &machine.settings {
        let name = words::spoken(&setting.name);
        let l = |x: f64| words::length(x, machine.unit);
        match setting.adjusts {
            Adjusts::Rod(rod) => all.extend(rod_start(machine, rod, name)),
            Adjusts::Row(row) => {
                let row = machine.rows.get(row).map_or("", |r| r.name.as_str());
                all.push(Start {
                    name,
                    from: format!(
                        "hole {} of {}",
                        words::number(setting.drawn, 0),
                        words::spoken(row)
                    ),
                    limits: String::new(),
                    measured: "count from the first hole".to_owned(),
                });
            }
            Adjusts::Clock(part) => {
                let part = machine.parts.get(part).map_or("", |p| p.name.as_str());
                all.push(Start {
                    name,
                    from: format!("{} as drawn: 0", words::spoken(part)),
                    limits: String::new(),
                    measured: "template of the machine over both pins, or the readings below"
                        .to_owned(),
                });
            }
            Adjusts::Shim { .. } => all.push(Start {
                name,
                from: if setting.drawn == 0.0 {
                    "no shim".to_owned()
                } else {
                    format!("shim {}", l(setting.drawn))
                },
                limits: setting
                    .range
                    .map_or_else(String::new, |[a, b]| format!("{} to {}", l(a), l(b))),
                measured: "micrometer on the shims, stacked".to_owned(),
            }),
            Adjusts::Stop(stop) => {
                let reading = machine
                    .stops
                    .get(stop)
                    .and_then(|s| machine.readings.get(s.reading));
                let unit = reading.map_or(machine.unit, |r| r.unit);
                all.push(Start {
                    name,
                    from: format!(
                        "{} {} {}",
                        reading.map_or_else(String::new, |r| words::spoken(&r.name)),
                        words::number(unit.from_inside(setting.drawn), 3),
                        unit.symbol()
                    ),
                    limits: String::new(),
                    measured: "drive against the stop".to_owned(),
                });
            }
        }
    }
    for (i, rod) in machine.rods.iter().enumerate() {
        if !set.contains(&i) {
            all.extend(rod_start(machine, i, words::spoken(&rod.name)));
        }
    }
    all
}

fn rod_start(machine: &Machine, rod: usize, name: String) -> Option<Start> {
    let made = machine.work.rods.get(rod)?;
    let of = machine.rods.get(rod)?;
    let own = machine
        .work
        .making
        .pieces
        .iter()
        .any(|p| p.of == Of::Rod(rod));
    // Rod ends that meet in the middle are not set: that is a finding.
    if made.ends.is_some() && made.stock.is_some() && !own && rods::bar(machine, of, made).is_err()
    {
        return None;
    }
    let centres = rods::centres(machine, of)?;
    let l = |x: f64| words::length(x, machine.unit);
    let turns = rods::turns(of, made);
    let (from, limits) = match turns {
        Some([a, b]) => {
            let t = |x: f64| words::number(x, 2);
            let lead = of.lead();
            (
                format!("ends {} and {} turns out from closed", t(a.out), t(b.out)),
                format!(
                    "no end further out than {} and {} turns{}",
                    t(a.most),
                    t(b.most),
                    lead.map_or_else(String::new, |x| format!(
                        "; a turn of the rod {}",
                        if of.both_ends || of.other.is_some() {
                            l(x)
                        } else {
                            format!("end {}", l(x))
                        }
                    ))
                ),
            )
        }
        None => (format!("as long as drawn: {}", l(centres)), String::new()),
    };
    Some(Start {
        name,
        from,
        limits,
        measured: format!("{} over pins in both ends", l(centres)),
    })
}

/// How tight a screw is drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Torque {
    /// The screw, as it is bought.
    pub screw: String,
    /// Clamping force, N.
    pub preload: f64,
    /// Torque dry and oiled, N·mm.
    pub torque: [f64; 2],
}

/// Share of the proof load that a screw is drawn to (Shigley, reusable joints).
const SHARE: f64 = 0.75;
/// Torque coefficient dry and oiled (Shigley table 8-15, from memory).
const K: [f64; 2] = [0.20, 0.15];

/// Torques of the bought screws whose thread and property class are written out.
pub fn torques(machine: &Machine) -> Vec<Torque> {
    let mut all: Vec<Torque> = Vec::new();
    let bought = machine
        .work
        .making
        .purchases
        .iter()
        .map(|p| (p.what.clone(), None));
    // Bolts that the file reckons with, by their own torque where it says one.
    let bolts = machine.work.bolts.iter();
    let bolts = bolts.map(|b| (buying::bolt(b, machine.unit), b.torque));
    for (what, own) in bolts.chain(bought) {
        let Some(mut found) = torque(&what) else {
            continue;
        };
        if let Some(own) = own {
            found.preload *= own / found.torque[0];
            found.torque = [own, own];
        }
        if !all.iter().any(|t| t.screw == found.screw) {
            all.push(found);
        }
    }
    all
}

fn torque(what: &str) -> Option<Torque> {
    let words: Vec<&str> = what.split([' ', ',']).filter(|w| !w.is_empty()).collect();
    let thread = words
        .iter()
        .find_map(|w| quantity::thread::parse(w).ok().filter(|t| !t.inch))?;
    let class = words
        .iter()
        .find_map(|w| preload::find(w, thread.major).ok())?;
    // Stress area of ISO 898-1: a circle of the mean of pitch and root diameter.
    let d2 = thread.major - 0.649_52 * thread.pitch;
    let d3 = thread.major - 1.226_87 * thread.pitch;
    let area = std::f64::consts::PI / 4.0 * f64::midpoint(d2, d3).powi(2);
    // Countersunk socket screws carry four fifths of what their class says (ISO 10642).
    let head = if what.contains("countersunk") {
        0.8
    } else {
        1.0
    };
    let force = head * preload::preload(area, class.proof, SHARE).ok()?;
    let [dry, oiled] = K.map(|k| preload::torque(k, force, thread.major).ok());
    Some(Torque {
        screw: what.to_owned(),
        preload: force,
        torque: [dry?, oiled?],
    })
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]
mod tests {
    use super::*;

    #[test]
    fn an_m8_screw_is_drawn_to_what_the_handbook_says() {
        // Stress area 36.6 mm² and proof 580 MPa (ISO 898-1): 0.75 of 21.2 kN is 15.9 kN; K F d = 0.2 x 15.9 x 8 = 25.5 N·m.
        let t = torque("socket head screw M8 x 25, 8.8").unwrap();
        assert!((t.preload - 0.75 * 36.6 * 580.0).abs() < 20.0, "{t:?}");
        assert!((t.torque[0] / 1000.0 - 25.5).abs() < 0.1, "{t:?}");
        assert!(torque("turning handle, M8 thread").is_none());
        // ISO 10642: a countersunk head carries 80 % of its class.
        let [plain, sunk] = ["socket head", "countersunk socket"].map(|head| {
            torque(&format!("{head} screw M8 x 25, 10.9"))
                .unwrap()
                .preload
        });
        assert!((sunk / plain - 0.8).abs() < 1e-9);
    }
}
