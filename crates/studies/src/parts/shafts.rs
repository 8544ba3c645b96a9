//! Shafts in bending and torsion, still and turning, with the notches of what is clamped on them.

use super::answers::Kind;
use super::room::{material, stock};
use super::say;
use super::study::{Draft, Study, strength};
use super::tires::{RELIABLE, often};
use crate::load::notched::{Notched, Weak};
use elements::keys;
use elements::shafts::fatigue::{self, Criterion, Loads, Strengths, Surface, endurance, finite};
use elements::shafts::notches::{self, Keyway, Notch, fits};
use elements::shafts::{Round, stress, yield_check};
use elements::{Check, ElementError, Source};
use machine::fitting::{HeldBy, Key};
use machine::model::{PartId, PartKind};
use machine::work::{Material, Section};

/// Radius that a turning tool leaves in an inside corner, mm (common practice).
const CORNER: f64 = 0.4;
/// Steps lower than this many radii are no notch.
const FLAT: f64 = 0.1;
/// Steps higher than this many radii are reckoned as that high: the outer part of the shoulder carries nothing.
const TALL: f64 = 19.9;
/// Corner of a groove for a retaining ring, mm (common practice).
const GROOVE: f64 = 0.1;
/// Cross holes that the table covers, over the shaft.
const HOLES: (f64, f64) = (0.05, 0.30);

struct Bar {
    bending: f64,
    torsion: f64,
    /// Bending and torsion that come again and again.
    again: [f64; 2],
    way: Way,
    /// Loads wanted of it.
    loads: f64,
    notched: Option<Seat>,
}

/// How its load comes and goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Way {
    /// It goes round under its load: bending alternates fully.
    Round,
    /// It swings, at so many strokes a minute: the load comes and goes.
    Pulses,
    /// Nothing is known of how often it is loaded.
    Still,
}

/// What is fitted on a shaft, or cut into it, weakens it.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Seat {
    /// A notch with its own sensitivity.
    notch: Option<Notch>,
    /// Fatigue factors in bending and torsion that are known as a whole.
    whole: [f64; 2],
    /// Section moduli left, of the full ones: in bending and in torsion. Fatigue factors of a keyway are on the full section.
    net: [f64; 2],
    /// Whether fatigue is reckoned on what is left.
    net_in_fatigue: bool,
    /// It was welded or brazed: bar that was drawn or tempered is soft there.
    heated: bool,
    /// Of what.
    by: &'static str,
    source: Source,
}

impl Seat {
    /// How bad it is for a shaft of this material.
    fn sharpness(&self, tensile: f64) -> f64 {
        let kf = self
            .notch
            .and_then(|n| notches::fatigue(&n, tensile).ok())
            .map_or(self.whole[0], |f| f.bending);
        let net = if self.net_in_fatigue {
            self.net[0]
        } else {
            1.0
        };
        kf / net * if self.heated { 1.5 } else { 1.0 }
    }
}

impl Study<'_> {
    pub(super) fn shaft(&mut self, part: PartId) {
        let machine = self.machine;
        let Some(shaft) = machine
            .parts
            .get(part)
            .filter(|p| p.kind == PartKind::Shaft)
        else {
            return;
        };
        let Some(bar) = stock(machine, part) else {
            return;
        };
        let section = match bar.section {
            Section::Round(diameter) => Round {
                diameter,
                bore: 0.0,
            },
            Section::Tube([diameter, bore]) => Round { diameter, bore },
            // The round inside it is what surely carries.
            Section::Square(diameter) | Section::Hexagon(diameter) => Round {
                diameter,
                bore: 0.0,
            },
            Section::Flat(_) => return,
        };
        let name = shaft.name.as_str();
        let what = format!("shaft {}", say::size(section.diameter, machine));
        let mut draft = Draft::new(
            Kind::Shaft,
            what,
            name.to_owned(),
            format!("shaft.{name}"),
            shaft.place,
        );
        if let Some(material) = material(machine, Some(bar)) {
            self.buy(
                1,
                &format!(
                    "round bar {}, {}",
                    say::size(section.diameter, machine),
                    material.name
                ),
                name,
            );
            self.grade(material);
            self.unstocked(&mut draft, bar.section);
            if let Err(error) = self.strong_shaft(&mut draft, part, section, material) {
                self.impossible(&draft, &error);
            }
        }
        self.done(draft);
    }

    fn strong_shaft(
        &mut self,
        draft: &mut Draft,
        part: PartId,
        section: Round,
        material: &Material,
    ) -> Result<(), ElementError> {
        let name = self.part(part);
        let Some(service) = self
            .service
            .shafts
            .iter()
            .find(|s| s.shaft == name)
            .cloned()
        else {
            return Ok(());
        };
        if service.bending.is_none() {
            draft.assume("no `bearings` are given: torsion alone is checked");
        }
        let Ok(notched) = self.seat(part, section.diameter, material) else {
            draft.assume(
                "what is held on it cuts too deep into it: its strength there is not reckoned",
            );
            return Ok(());
        };
        let (way, loads) = self.goes(part);
        let bar = Bar {
            bending: service.bending.unwrap_or(0.0),
            torsion: service.torsion,
            again: self
                .working
                .shafts
                .iter()
                .find(|s| s.shaft == name)
                .map_or([0.0; 2], |s| [s.bending.unwrap_or(0.0), s.torsion]),
            way,
            loads,
            notched,
        };
        let softer = softened(material);
        if let Some(seat) = &bar.notched {
            draft.assume(format!(
                "weakest under the {} ({})",
                seat.by,
                super::study::source(seat.source)
            ));
            if seat.heated {
                match softer {
                    Some((soft, _)) => draft.assume(format!(
                        "beside the {} it is as soft as {}, yield {}",
                        seat.by,
                        soft.name,
                        say::value(soft.yields.unwrap_or(soft.tensile), "MPa", self.machine)
                    )),
                    None if material.name.contains("QT")
                        || material.name.contains("prehardened") =>
                    {
                        draft.assume(format!(
                            "the heat of the {} takes some of its temper: how much is not reckoned",
                            seat.by
                        ))
                    }
                    None => {}
                }
            }
        }
        if bar.notched.is_none() && service.notched.is_empty() {
            draft.assume("smooth: its steps are not known (a [piece] with `starts` tells them)");
        }
        if !service.notched.is_empty() {
            draft.assume(format!(
                "inside corners of its steps have the radius of the tool, {}",
                say::size(CORNER, self.machine)
            ));
        }
        let factor = self.factor();
        for check in &checks(&bar, section, material)? {
            let checked = self.check(check, factor, Some(&service.worst));
            draft.item.checks.push(checked);
        }
        let again = |weak: &Notched| {
            let shaft = self.working.shafts.iter().find(|s| s.shaft == name);
            let same = shaft.and_then(|s| {
                s.notched
                    .iter()
                    .find(|w| w.weak == weak.weak && w.station == weak.station)
            });
            same.map_or([0.0; 2], |w| [w.bending, w.torsion])
        };
        for weak in &service.notched {
            let place = self.weak_words(weak);
            for check in &weak_checks(weak, (bar.way, loads, again(weak)), material, 1.0)? {
                let mut checked = self.check(check, factor, Some(&weak.worst));
                checked.what = format!("{} at {place}", check.what);
                draft.item.checks.push(checked);
            }
        }
        let often = often(loads);
        match way {
            Way::Pulses => draft.assume(format!("it swings, and its load comes and goes from nothing to the worst, {often}: half of it alternates; machined, 99 of 100 bear it (Goodman)")),
            Way::Round => draft.assume(format!("it turns under its load, {often}: bending alternates fully, half the torsion stands; machined, 99 of 100 bear it (Goodman)")),
            Way::Still => {}
        }
        let best = self.rounds().into_iter().find(|d| {
            let other = Round {
                diameter: *d,
                bore: 0.0,
            };
            // Steps grow and shrink with the bar.
            let grown = d / section.diameter;
            let steps = service
                .notched
                .iter()
                .map(|w| weak_checks(w, (bar.way, loads, again(w)), material, grown));
            let Ok(notched) = self.seat(part, *d, material) else {
                return false;
            };
            let bar = Bar { notched, ..bar };
            let all: Result<Vec<Vec<Check>>, ElementError> =
                steps.chain([checks(&bar, other, material)]).collect();
            all.is_ok_and(|all| all.iter().flatten().all(|c| c.passes(factor)))
        });
        let with_steps = if service.notched.is_empty() {
            ""
        } else {
            ", its steps in proportion"
        };
        draft.would_do(
            best.map(|d| format!("round bar of {}{with_steps}", say::size(d, self.machine))),
            "round bar of this material",
            best.is_some_and(|d| d < section.diameter - 0.01),
        );
        Ok(())
    }

    /// "the step from 40 mm to 38 mm, station 60 mm".
    fn weak_words(&self, weak: &Notched) -> String {
        let size = |mm: f64| say::size(mm, self.machine);
        let what = match weak.weak {
            Weak::Step { large, small } => {
                format!("the step from {} to {}", size(large), size(small))
            }
            Weak::Groove { bottom, .. } => format!("the groove of {}", size(bottom)),
            Weak::Cross { hole, .. } => format!("the cross hole of {}", size(hole)),
        };
        format!("{what}, station {}", size(weak.station))
    }

    /// How its load comes and goes, and how often.
    fn goes(&self, part: PartId) -> (Way, f64) {
        let name = self.part(part);
        let joints = self.rig.joints.iter().zip(&self.service.joints);
        let turned: Vec<_> = joints
            .filter(|(j, _)| j.on == name && j.by == "frame")
            .flat_map(|(_, s)| &s.turned)
            .collect();
        let most = |round: bool| {
            let all = turned.iter().filter(|t| t.turns.is_some() == round);
            all.filter_map(|t| Some(self.per_minute(t)? * t.turns.unwrap_or(1.0)))
                .reduce(f64::max)
        };
        let rounds = turned.iter().any(|t| t.turns.is_some());
        match (rounds, most(true), most(false)) {
            // A shaft that goes round and nobody tells how fast is judged for ever.
            (true, n, _) => (Way::Round, n.map_or(1e9, |n| self.loads_wanted(n))),
            (false, _, Some(n)) => (Way::Pulses, self.loads_wanted(n)),
            (false, _, None) => (Way::Still, 1e9),
        }
    }

    /// What weakens the shaft most of all that is held on it or runs on it; fails where a cross pin is too large for it.
    fn seat(
        &self,
        part: PartId,
        diameter: f64,
        material: &Material,
    ) -> Result<Option<Seat>, ElementError> {
        let tensile = material.tensile.unwrap_or(400.0).clamp(340.0, 1700.0);
        let mut worst: Option<Seat> = None;
        let mut met = |seat: Seat| {
            if worst.is_none_or(|w| seat.sharpness(tensile) > w.sharpness(tensile)) {
                worst = Some(seat);
            }
        };
        let plain = Seat {
            notch: None,
            whole: [1.0; 2],
            net: [1.0; 2],
            net_in_fatigue: false,
            heated: false,
            by: "",
            source: fits::SOURCE,
        };
        let fitted = fits::hub(tensile)?;
        let pressed = Seat {
            whole: fitted,
            ..plain
        };
        for (arm, made) in self.machine.parts.iter().zip(&self.machine.work.parts) {
            if arm.clamped_to != Some(part) {
                continue;
            }
            let Some(held) = made.held_by.as_ref() else {
                continue;
            };
            met(match &held.by {
                HeldBy::Key(Key::Parallel { inch }) => {
                    let row = if *inch {
                        keys::square_inch(diameter)
                    } else {
                        keys::parallel(diameter)
                    };
                    let notch = notches::keyway(diameter, Keyway::Profile)?;
                    // A bar for which there is no key of this sort is told by the hub.
                    let net = row.map_or(Ok(1.0), |r| keyed(diameter, r.width, r.in_shaft))?;
                    Seat {
                        notch: Some(notch),
                        net: [net; 2],
                        by: "key",
                        source: notch.source,
                        ..plain
                    }
                }
                HeldBy::Key(key @ (Key::Woodruff(_) | Key::WoodruffMetric(_))) => {
                    let row = match key {
                        Key::WoodruffMetric(row) => keys::woodruff_disc(*row),
                        Key::Woodruff(number) => Some(keys::woodruff(*number)?),
                        Key::Parallel { .. } => None,
                    };
                    let Some(row) = row else { continue };
                    let notch = notches::keyway(diameter, Keyway::SledRunner)?;
                    let net = keyed(diameter, row.width, row.in_shaft)?;
                    Seat {
                        notch: Some(notch),
                        net: [net; 2],
                        by: "Woodruff key",
                        source: notch.source,
                        ..plain
                    }
                }
                HeldBy::Pin { diameter: pin } => {
                    let hole = notches::cross_hole(diameter, *pin)?;
                    Seat {
                        notch: Some(hole.notch),
                        net: [hole.net_bending, hole.net_torsion],
                        net_in_fatigue: true,
                        by: "cross pin",
                        source: hole.notch.source,
                        ..plain
                    }
                }
                HeldBy::Press { .. } => Seat {
                    by: "press fit",
                    ..pressed
                },
                HeldBy::Pinch { .. } => Seat {
                    by: "pinched hub",
                    ..pressed
                },
                HeldBy::SetScrew { .. } => Seat {
                    by: "set screws",
                    ..pressed
                },
                HeldBy::Weld { .. } => Seat {
                    whole: [elements::joints::TOE, elements::joints::BEAD_END],
                    heated: true,
                    by: "weld",
                    source: elements::joints::NOTCH,
                    ..plain
                },
                HeldBy::Braze => Seat {
                    heated: true,
                    by: "brazing",
                    ..pressed
                },
            });
        }
        let centre = self.machine.parts.get(part).and_then(|p| p.carries.first());
        for hole in self
            .machine
            .work
            .holes
            .iter()
            .filter(|h| Some(&h.point) == centre)
        {
            let tight = super::seats::bearing(self.machine, hole)
                .and_then(|b| b.inner)
                .is_some_and(|f| f.likely_clearance() < 0.0);
            if tight {
                met(Seat {
                    by: "inner ring of its bearing",
                    ..pressed
                });
            }
        }
        Ok(worst)
    }
}

/// What a keyway leaves of a shaft, by its width and depth.
fn keyed(diameter: f64, width: f64, deep: f64) -> Result<f64, ElementError> {
    notches::keyway_net(diameter, width, deep)
}

/// What drawn or stress relieved bar becomes where it is welded or brazed.
fn softened(material: &Material) -> Option<(&'static elements::materials::Material, f64)> {
    let name = material.taken_as.unwrap_or(&material.name);
    let steel = name.strip_suffix(" cold drawn")?;
    let soft = elements::materials::find(&format!("{steel} hot rolled")).ok()?;
    Some((soft, soft.tensile))
}

fn checks(bar: &Bar, section: Round, material: &Material) -> Result<Vec<Check>, ElementError> {
    let Some(mut limit) = strength(material) else {
        return Ok(Vec::new());
    };
    let (mut tensile, mut yields) = (material.tensile, material.yields);
    let heated = bar.notched.is_some_and(|n| n.heated);
    if let (true, Some((soft, _))) = (heated, softened(material)) {
        (tensile, yields) = (Some(soft.tensile), soft.yields);
        limit = soft.yields.unwrap_or(soft.tensile);
    }
    // What breaks without yielding feels a notch under a load that stands, too.
    let (peaks, twists) = match bar.notched {
        Some(Seat {
            notch: Some(notch), ..
        }) if material.yields.is_none() => (notch.bending, notch.torsion),
        _ => (1.0, 1.0),
    };
    let [bent, twisted] = bar.notched.map_or([1.0; 2], |n| n.net);
    let found = stress(
        section,
        bar.bending * peaks / bent,
        bar.torsion * twists / twisted,
        0.0,
    )?;
    let mut all = vec![yield_check(&found, limit)?];
    if let (true, Some(tensile), Some(yields)) = (bar.way != Way::Still, tensile, yields)
        && section.bore == 0.0
        && (340.0..=1700.0).contains(&tensile)
    {
        let ([kf, kfs], [net, twisted]) = match &bar.notched {
            Some(seat) => {
                let kf = match seat.notch {
                    Some(notch) => {
                        let f = notches::fatigue(&notch, tensile)?;
                        [f.bending, f.torsion]
                    }
                    None => seat.whole,
                };
                (
                    kf,
                    if seat.net_in_fatigue {
                        seat.net
                    } else {
                        [1.0; 2]
                    },
                )
            }
            None => ([1.0; 2], [1.0; 2]),
        };
        let alternating = if bar.way == Way::Round { 1.0 } else { 0.5 };
        let of = |bending: f64, torsion: f64| Loads {
            bending_alternating: alternating * bending / net,
            bending_steady: (1.0 - alternating) * bending / net,
            torque_alternating: torsion / 2.0 / twisted,
            torque_steady: torsion / 2.0 / twisted,
            kf,
            kfs,
        };
        let surface = if heated {
            Surface::HotRolled
        } else {
            Surface::Machined
        };
        let limit = endurance(tensile, surface, section.diameter, RELIABLE)?.limit;
        let endures = finite(tensile, limit, bar.loads)?;
        let strengths = Strengths {
            endurance: endures,
            tensile,
            yields,
        };
        let judged =
            |of: Loads| fatigue::check(&of, section.diameter, &strengths, Criterion::Goodman);
        let [tires, _] = judged(of(bar.again[0], bar.again[1]))?;
        let [_, first] = judged(of(bar.bending, bar.torsion))?;
        all.extend([tires, first]);
    }
    Ok(all)
}

/// What a step, groove or cross hole bears, on a shaft `grown` times as thick.
fn weak_checks(
    weak: &Notched,
    (way, loads, again): (Way, f64, [f64; 2]),
    material: &Material,
    grown: f64,
) -> Result<Vec<Check>, ElementError> {
    let left = grown * weak.weak.left();
    let section = Round {
        diameter: left,
        bore: 0.0,
    };
    let (notch, net) = match weak.weak {
        Weak::Step { large, small } => {
            let (large, small) = (grown * large, grown * small);
            let height = 0.5 * (large - small);
            let large = small + 2.0 * height.min(TALL * CORNER);
            if height < FLAT * CORNER {
                (None, [1.0; 2])
            } else {
                (Some(notches::step(large, small, CORNER)?), [1.0; 2])
            }
        }
        Weak::Groove { .. } => (Some(notches::ring_groove(GROOVE)?), [1.0; 2]),
        Weak::Cross { diameter, hole } => {
            let share = (hole / (grown * diameter)).clamp(HOLES.0, HOLES.1);
            let hole = notches::cross_hole(grown * diameter, share * grown * diameter)?;
            (Some(hole.notch), [hole.net_bending, hole.net_torsion])
        }
    };
    let bar = Bar {
        bending: weak.bending,
        torsion: weak.torsion,
        again,
        way,
        loads,
        // The net section of a cross hole bears less still too.
        notched: notch.map(|n| Seat {
            notch: Some(n),
            whole: [1.0; 2],
            net,
            net_in_fatigue: true,
            heated: false,
            by: "",
            source: n.source,
        }),
    };
    checks(&bar, section, material)
}
