//! Shafts in bending and torsion, still and turning, with the notches of what is clamped on them.

use super::answers::Kind;
use super::room::{material, stock};
use super::say;
use super::study::{Draft, Study, strength};
use super::tires::{Tires, Tiring, often, tiring};
use crate::load::notched::{Notched, Weak, seat_of};
use elements::keys;
use elements::shafts::fatigue::{self, Criterion, Loads, Strengths};
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
    /// Shares of both that alternate.
    alternates: [f64; 2],
    /// How it tires.
    tires: Option<Tires>,
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
            draft.unoffered("how it is bent is not known (`bearings` tell where it is held)");
        }
        // The drive takes hold at the middle of the shaft: what lies between there and a pulley elsewhere is twisted too.
        let mut drives = self.machine.drives.iter();
        let centre = self.machine.parts.get(part).and_then(|p| p.carries.first());
        if let (true, Some(centre)) = (
            drives.any(|d| d.moves == machine::model::Moves::Turns(part)),
            centre.and_then(|c| self.machine.points.get(*c)),
        ) {
            draft.assume(format!(
                "the drive takes hold at station {}: a pulley or handle elsewhere twists what lies between",
                say::size(centre.station, self.machine)
            ));
        }
        let Ok(notched) = self.seat(part, section.diameter, material) else {
            draft.assume(
                "what is held on it cuts too deep into it: its strength there is not reckoned",
            );
            return Ok(());
        };
        let (way, loads) = self.goes(part);
        let tiring = tiring(material, (way != Way::Still).then_some(loads));
        if tiring == Tiring::Unknown {
            self.untested(draft, material);
        }
        let again = self.working.shafts.iter().find(|s| s.shaft == name);
        // What goes round under a load that stands bends to and fro, whatever else is known.
        let shares =
            |[bent, twisted]: [f64; 2]| [if way == Way::Round { 1.0 } else { bent }, twisted];
        let bar = Bar {
            bending: service.bending.unwrap_or(0.0),
            torsion: service.torsion,
            again: again.map_or([0.0; 2], |s| [s.bending.unwrap_or(0.0), s.torsion]),
            alternates: shares(
                again.map_or([0.5; 2], crate::load::service::ShaftService::alternates),
            ),
            tires: tiring.known(),
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
        let weak_bar = |weak: &Notched, grown: f64| -> Result<Bar, ElementError> {
            let same = again.and_then(|s| {
                s.notched
                    .iter()
                    .find(|w| w.weak == weak.weak && w.station == weak.station)
            });
            Ok(Bar {
                bending: weak.bending,
                torsion: weak.torsion,
                again: same.map_or([0.0; 2], |w| [w.bending, w.torsion]),
                alternates: shares(same.map_or([0.5; 2], |w| {
                    [w.course.0.alternates(), w.course.1.alternates()]
                })),
                tires: tiring.known(),
                notched: self.weak_seat(weak.weak, material, grown)?,
            })
        };
        let weak_section = |weak: &Notched, grown: f64| Round {
            diameter: grown * weak.weak.left(),
            bore: 0.0,
        };
        for weak in &service.notched {
            let place = self.weak_words(weak);
            // What is cut too deep is told with what is held there.
            let Ok(own) = weak_bar(weak, 1.0) else {
                continue;
            };
            for check in &checks(&own, weak_section(weak, 1.0), material)? {
                let mut checked = self.check(check, factor, Some(&weak.worst));
                checked.what = format!("{} at {place}", check.what);
                draft.item.checks.push(checked);
            }
        }
        let often = often(loads);
        let share = |what: &str, share: f64| {
            if share <= 0.505 {
                format!("half {what} stands")
            } else if share >= 0.995 {
                format!("all {what} alternates")
            } else {
                format!("{share:.2} of {what} alternates")
            }
        };
        let tested = bar.tires.as_ref().map(Tires::tested).unwrap_or_default();
        let [bent, twisted] = bar.alternates;
        match way {
            _ if bar.tires.is_none() => {}
            Way::Pulses if bent <= 0.505 && twisted <= 0.505 => draft.assume(format!("it swings, and its load comes and goes from nothing to the worst, {often}: half of it alternates; machined, 99 of 100 bear it (Goodman){tested}")),
            Way::Pulses => draft.assume(format!("it swings, and its load goes both ways, {often}: {}, {}; machined, 99 of 100 bear it (Goodman){tested}", share("the bending", bent), share("the torsion", twisted))),
            Way::Round => draft.assume(format!("it turns under its load, {often}: bending alternates fully, {}; machined, 99 of 100 bear it (Goodman){tested}", share("the torsion", twisted))),
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
                .map(|w| checks(&weak_bar(w, grown)?, weak_section(w, grown), material));
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
            Weak::Hub { diameter, arm } => {
                format!("{} on its {}", self.part(arm), size(diameter))
            }
            Weak::Neck { diameter, from, to } => {
                return format!(
                    "its {}, station {} to {}",
                    size(diameter),
                    size(from),
                    size(to)
                );
            }
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
            (false, _, None) => match self.works(part) {
                Some(n) => (Way::Pulses, self.loads_wanted(n)),
                None => (Way::Still, 1e9),
            },
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
        for (arm, p) in self.machine.parts.iter().enumerate() {
            // Where the piece tells what it sits on, it is looked at there.
            if p.clamped_to == Some(part)
                && seat_of(self.rig, part, arm).is_none()
                && let Some(seat) = self.arm_seat(arm, diameter, material)?
            {
                met(seat);
            }
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
                    ..pressed(tensile)?
                });
            }
        }
        Ok(worst)
    }

    /// What holds an arm weakens a shaft of this diameter.
    fn arm_seat(
        &self,
        arm: PartId,
        diameter: f64,
        material: &Material,
    ) -> Result<Option<Seat>, ElementError> {
        let tensile = material.tensile.unwrap_or(400.0).clamp(340.0, 1700.0);
        let made = self.machine.work.parts.get(arm);
        let Some(held) = made.and_then(|m| m.held_by.as_ref()) else {
            return Ok(None);
        };
        let (plain, pressed) = (PLAIN, pressed(tensile)?);
        Ok(Some(match &held.by {
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
                let Some(row) = row else { return Ok(None) };
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
        }))
    }

    /// What a weak place of a shaft `grown` times as thick is weakened by.
    fn weak_seat(
        &self,
        weak: Weak,
        material: &Material,
        grown: f64,
    ) -> Result<Option<Seat>, ElementError> {
        let (notch, net) = match weak {
            Weak::Hub { diameter, arm } => return self.arm_seat(arm, grown * diameter, material),
            Weak::Neck { .. } => return Ok(None),
            Weak::Step { large, small } => {
                let (large, small) = (grown * large, grown * small);
                let height = 0.5 * (large - small);
                let large = small + 2.0 * height.min(TALL * CORNER);
                if height < FLAT * CORNER {
                    return Ok(None);
                }
                (notches::step(large, small, CORNER)?, [1.0; 2])
            }
            Weak::Groove { .. } => (notches::ring_groove(GROOVE)?, [1.0; 2]),
            Weak::Cross { diameter, hole } => {
                let share = (hole / (grown * diameter)).clamp(HOLES.0, HOLES.1);
                let hole = notches::cross_hole(grown * diameter, share * grown * diameter)?;
                (hole.notch, [hole.net_bending, hole.net_torsion])
            }
        };
        // The net section of a cross hole bears less still too.
        Ok(Some(Seat {
            notch: Some(notch),
            net,
            net_in_fatigue: true,
            source: notch.source,
            ..PLAIN
        }))
    }
}

/// Nothing that weakens.
const PLAIN: Seat = Seat {
    notch: None,
    whole: [1.0; 2],
    net: [1.0; 2],
    net_in_fatigue: false,
    heated: false,
    by: "",
    source: fits::SOURCE,
};

/// A hub that presses on it.
fn pressed(tensile: f64) -> Result<Seat, ElementError> {
    Ok(Seat {
        whole: fits::hub(tensile)?,
        ..PLAIN
    })
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
    if let (Some(tires), Some(tensile)) = (bar.tires, tensile) {
        let tires = if heated {
            tires.softened(tensile)
        } else {
            tires
        };
        let (kf, [net, twisted]) = match &bar.notched {
            Some(seat) => {
                let kf = match seat.notch {
                    Some(notch) => {
                        let f = notches::fatigue(&notch, tensile.clamp(340.0, 1700.0))?;
                        [
                            tires.notch(f.bending, notch.bending),
                            tires.notch(f.torsion, notch.torsion),
                        ]
                    }
                    None => seat.whole,
                };
                let net = if seat.net_in_fatigue {
                    seat.net
                } else {
                    [1.0; 2]
                };
                (kf, net)
            }
            None => ([1.0; 2], [1.0; 2]),
        };
        // A bore takes so much of both.
        let left = 1.0 - (section.bore / section.diameter).powi(4);
        let of = |bending: f64, torsion: f64| {
            let [bent, turned] = bar.alternates;
            let (bending, torsion) = (bending / net / left, torsion / twisted / left);
            Loads {
                bending_alternating: bent * bending,
                bending_steady: (1.0 - bent) * bending,
                torque_alternating: turned * torsion,
                torque_steady: (1.0 - turned) * torsion,
                kf: kf[0],
                kfs: kf[1],
            }
        };
        let strengths = Strengths {
            endurance: tires.endures(section.diameter)?,
            tensile,
            yields: yields.unwrap_or(tensile),
        };
        let judged =
            |of: Loads| fatigue::check(&of, section.diameter, &strengths, Criterion::Goodman);
        let [tired, _] = judged(of(bar.again[0], bar.again[1]))?;
        let [_, first] = judged(of(bar.bending, bar.torsion))?;
        all.push(tired);
        all.extend(yields.map(|_| first));
    }
    Ok(all)
}
