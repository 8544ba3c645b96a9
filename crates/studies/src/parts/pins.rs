//! Pins and studs: shear, bending, pressure, and the smallest that does it.

use super::answers::Kind;
use super::layers::Out;
use super::room::{joint, material, pin_diameter, room, sides, stock};
use super::say;
use super::study::{Draft, Study, strength};
use super::tires::{Tires, Tiring};
use crate::answers::Severity;
use crate::load::service::Peak;
use elements::pins_lugs::{Clevis, SHEAR_SHARE, SOURCE, STUD as IN_HOLE, pin_shear, stud_pressure};
use elements::shafts::notches::fits;
use elements::shafts::{Round, stress};
use elements::stock::{FLAT_INCH, FLAT_METRIC, ROUND_INCH, ROUND_METRIC, inches};
use elements::threads::{COARSE, UNC, basic};
use elements::{Check, ElementError, Source};
use machine::Machine;
use machine::fitting::Fitted;
use machine::model::{FRAME, PartId, PartKind, PointId};
use machine::work::Section;
use quantity::Unit;

/// How a pin is held.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Held {
    /// Between two ears of a fork: lug and one ear, mm.
    Fork { lug: f64, ear: f64 },
    /// A stud: how far out of its holder it is loaded; none where it is not known.
    Stud {
        out: Option<Out>,
        seat: Option<Seat>,
    },
}

impl Held {
    /// Nothing is known of how it is held.
    const UNKNOWN: Self = Self::Stud {
        out: None,
        seat: None,
    };
}

/// The hole in which a stud sits.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Seat {
    /// How deep, mm.
    deep: f64,
    /// What its metal bears, MPa.
    bears: f64,
}

/// What a pin bears and goes through.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Asked {
    held: Held,
    force: f64,
    yields: f64,
    /// How it tires, and the force that comes again and again, N.
    tires: Option<(Tires, f64)>,
}

impl Study<'_> {
    /// Flat bar widths of the trade, mm, in the system of the machine.
    pub(super) fn widths(&self) -> Vec<f64> {
        if is_inch(self.machine) {
            inches(&FLAT_INCH)
        } else {
            FLAT_METRIC.to_vec()
        }
    }

    /// Round bar of the trade, mm, in the system of the machine.
    pub(super) fn rounds(&self) -> Vec<f64> {
        if is_inch(self.machine) {
            inches(&ROUND_INCH)
        } else {
            ROUND_METRIC.to_vec()
        }
    }

    /// Points whose pin the file speaks of, and that is no shaft.
    pub(super) fn pins(&self) -> Vec<PointId> {
        let spoken = |point: PointId| {
            joint(self.machine, point)
                .is_some_and(|j| j.pin.is_some() || j.material.is_some() || j.fork.is_some())
                || self.machine.work.holes.iter().any(|h| h.point == point)
        };
        // A shaft's own journal, the offset one of an eccentric too, is part of the shaft.
        let of_shaft = |point: PointId| {
            let radius = 0.5 * pin_diameter(self.machine, point).unwrap_or(0.0);
            let off = |centre: PointId| {
                let (p, c) = (
                    self.machine.points.get(point)?,
                    self.machine.points.get(centre)?,
                );
                Some((p.x - c.x).hypot(p.y - c.y))
            };
            let mut shafts = self
                .machine
                .parts
                .iter()
                .filter(|p| p.kind == PartKind::Shaft);
            shafts.any(|p| {
                p.carries.contains(&point)
                    && p.carries
                        .first()
                        .and_then(|c| off(*c))
                        .is_some_and(|off| off < radius)
            })
        };
        (0..self.machine.points.len())
            .filter(|p| spoken(*p) && !of_shaft(*p) && pin_diameter(self.machine, *p).is_some())
            .filter(|p| !self.joints_at(*p, None).is_empty())
            .collect()
    }

    pub(super) fn pin(&mut self, point: PointId) {
        let machine = self.machine;
        let Some(diameter) = pin_diameter(machine, point) else {
            return;
        };
        let entry = joint(machine, point).cloned();
        let name = self.point(point);
        let class = entry
            .as_ref()
            .and_then(|j| j.pin.as_ref())
            .map_or_else(String::new, |p| format!(" {}", p.class));
        let place = entry
            .as_ref()
            .map_or_else(machine::Place::default, |j| j.place);
        let mut draft = Draft::new(
            Kind::Pin,
            format!("pin {}{class}", say::size(diameter, machine)),
            format!("at {name}"),
            format!("joint.{name}"),
            place,
        );
        let material = entry
            .as_ref()
            .and_then(|j| j.material)
            .and_then(|m| machine.work.materials.get(m))
            .or(self.steel());
        let fork = entry.as_ref().and_then(|j| j.fork);
        let mut all = self.held_pin(point, fork, &mut draft);
        let mut held = all.first().map_or(Held::UNKNOWN, |h| h.0);
        let joints = self.joints_at(point, None);
        let peak = self.hardest(&joints).map(|(_, p)| p.clone());
        if let (Some(material), Some(peak)) = (material, &peak)
            && let Some(yields) = strength(material)
        {
            self.grade(material);
            let tiring = self.tires_at(point, material);
            if tiring == Tiring::Unknown {
                self.untested(&mut draft, material);
            }
            for (held, holder) in &mut all {
                if let (Held::Stud { out: Some(out), .. }, Some(holder)) = (held, *holder) {
                    self.leaned(holder, point, peak.value, out);
                }
            }
            let asked = |(held, holder): &(Held, Option<PartId>)| Asked {
                held: *held,
                force: peak.value,
                yields,
                tires: tiring.known().map(|t| {
                    let share = self.alternates(&joints, *holder);
                    (t.alternating(share), self.comes_again(&joints))
                }),
            };
            let all: Vec<Asked> = all.iter().map(asked).collect();
            // Where two may hold it, the worse counts.
            let spare = |asked: &Asked| {
                let found = checks(diameter, asked).unwrap_or_default();
                let least = found.iter().map(Check::factor);
                least.fold(f64::INFINITY, f64::min)
            };
            let worst = all.iter().min_by(|a, b| spare(a).total_cmp(&spare(b)));
            if let Some(worst) = worst {
                held = worst.held;
                if let Held::Stud { out: Some(out), .. } = held
                    && out.told()
                {
                    draft.assume(format!(
                        "by the stations its load stands {} out of what holds it",
                        say::size((10.0 * out.arm).round() / 10.0, machine)
                    ));
                }
                if let Some((tires, _)) = &worst.tires {
                    draft.assume(tires.words());
                }
                self.strong(&mut draft, point, diameter, (worst, &all), peak);
                self.screwed(&mut draft, point, diameter, worst, peak);
            }
        }
        // As long as what it goes through; heads, rings and shoulders come on top.
        let long = match held {
            Held::Fork { lug, ear } if lug > 0.0 => Some(lug + 2.0 * ear),
            Held::Stud {
                out: Some(out),
                seat: Some(seat),
            } => Some(out.to + out.wide / 2.0 + seat.deep),
            _ => None,
        };
        let long = long.map_or_else(String::new, |l| {
            format!(" x {}", say::size((10.0 * l).ceil() / 10.0, machine))
        });
        self.buy(
            1,
            &format!(
                "pin {}{class}{long}, {}",
                say::size(diameter, machine),
                material.map_or("steel", |m| &m.name)
            ),
            name,
        );
        self.beside_bearings(&mut draft, point);
        self.unshared(&mut draft, &joints);
        self.done(draft);
    }

    /// A load beside both bearings of a pivot presses harder on the nearer one than the pivot bears in its plane.
    fn beside_bearings(&mut self, draft: &mut Draft, point: PointId) {
        let Some((times, beyond)) = self.overhung(point).filter(|(times, _)| *times > 1.1) else {
            return;
        };
        let sentence = format!(
            "its load stands {} beside both its bearings: the nearer one bears {} times what is told of it here",
            say::size((10.0 * beyond).round() / 10.0, self.machine),
            say::factor(times)
        );
        let advice = "write the shaft as [shaft.NAME] with its `bearings`, and the part `clamped-to` it: then its bearings and its bending are reckoned";
        self.say(Severity::Caution, draft, sentence, Some(advice.into()));
    }

    /// A stud that is screwed into its holder bends at the root of its thread, where that is thinner than the stud.
    fn screwed(
        &self,
        draft: &mut Draft,
        point: PointId,
        diameter: f64,
        asked: &Asked,
        peak: &Peak,
    ) {
        let Held::Stud { out: Some(out), .. } = asked.held else {
            return;
        };
        let threads = self.machine.work.holes.iter().filter(|h| h.point == point);
        let Some(thread) = threads.into_iter().find_map(|h| match &h.fitted {
            Fitted::Tapped { thread, .. } => Some(thread),
            _ => None,
        }) else {
            return;
        };
        let Ok(root) = basic(thread.major, thread.pitch).map(|b| b.root) else {
            return;
        };
        if root >= diameter {
            return;
        }
        let factor = self.factor();
        let at = |root: f64| -> Result<Vec<Check>, ElementError> {
            let section = Round {
                diameter: root,
                bore: 0.0,
            };
            let bent = stress(section, peak.value * out.arm, 0.0, 0.0)?.bending;
            let mut all = vec![Check {
                what: "bending of the stud at the root of its thread",
                acts: bent,
                bears: asked.yields,
                unit: "MPa",
                source: STUD,
            }];
            if let Some((tires, again)) = &asked.tires {
                let bent = stress(section, again * out.arm, 0.0, 0.0)?.bending;
                let kf = tires.cut_thread();
                all.push(tires.check("fatigue at the root of its thread", bent, kf, root)?);
            }
            Ok(all)
        };
        let Ok(found) = at(root) else { return };
        for check in &found {
            draft
                .item
                .checks
                .push(self.check(check, factor, Some(peak)));
        }
        if found.iter().any(|c| !c.passes(factor)) {
            let stronger = |major: f64, pitch: f64| -> Result<bool, ElementError> {
                Ok(at(basic(major, pitch)?.root)?
                    .iter()
                    .all(|c| c.passes(factor)))
            };
            let sizes: Vec<(f64, f64, String)> = if thread.inch {
                UNC.iter()
                    .map(|(name, d, n)| (25.4 * d, 25.4 / n, (*name).to_owned()))
                    .collect()
            } else {
                COARSE
                    .iter()
                    .map(|(d, p)| (*d, *p, format!("M{d}")))
                    .collect()
            };
            // The stud itself has to do it too.
            let own = self
                .rounds()
                .into_iter()
                .find(|d| checks(*d, asked).is_ok_and(|all| all.iter().all(|c| c.passes(factor))));
            let best = sizes
                .into_iter()
                .find(|(d, p, _)| stronger(*d, *p).unwrap_or(false));
            draft.would_do(
                best.zip(own).and_then(|((major, _, name), own)| {
                    // A shoulder to tighten against is wider than its thread.
                    let least = own.max(diameter).max(SHOULDER * major);
                    let stud = self.rounds().into_iter().find(|d| *d >= least - 1e-6)?;
                    Some(format!(
                        "a stud of {} screwed in with {name}",
                        say::size(stud, self.machine)
                    ))
                }),
                "threads up to an inch",
                false,
            );
        }
        let shoulder = if diameter > thread.major + 0.5 {
            "a shoulder that is tightened against its holder takes most of the bending, which is not counted"
        } else {
            "it has no shoulder to tighten against its holder: the thread bends"
        };
        draft.assume(format!(
            "screwed in with {}, root {}; {shoulder}",
            thread.name,
            say::size((100.0 * root).round() / 100.0, self.machine)
        ));
    }

    /// A bearing or a rod end there sets the size of the pin.
    fn size_is_set(&self, point: PointId) -> bool {
        let bearing = |h: &machine::fitting::Hole| {
            h.point == point && matches!(h.fitted, Fitted::Bearing { .. })
        };
        let rods = self.machine.rods.iter().zip(&self.machine.work.rods);
        self.machine.work.holes.iter().any(bearing)
            || rods
                .into_iter()
                .any(|(rod, made)| made.ends.is_some() && rod.joins.contains(&point))
    }

    fn strong(
        &mut self,
        draft: &mut Draft,
        point: PointId,
        diameter: f64,
        (asked, may_be): (&Asked, &[Asked]),
        peak: &Peak,
    ) {
        let factor = self.factor();
        match checks(diameter, asked) {
            Ok(all) => {
                for check in &all {
                    let checked = self.check(check, factor, Some(peak));
                    draft.item.checks.push(checked);
                }
            }
            Err(error) => {
                self.impossible(draft, &error);
                return;
            }
        }
        let passes = |d: f64, asked: &Asked| {
            checks(d, asked).is_ok_and(|all| all.iter().all(|c| c.passes(factor)))
        };
        let best = self
            .rounds()
            .into_iter()
            .find(|d| may_be.iter().all(|asked| passes(*d, asked)));
        let set = self.size_is_set(point);
        let other = |d: f64| {
            if set && (d - diameter).abs() > 0.01 {
                ", and what runs on it bored for that"
            } else {
                ""
            }
        };
        draft.would_do(
            best.map(|d| format!("a pin of {}{}", say::size(d, self.machine), other(d))),
            "round bar up to 100 mm",
            best.is_some_and(|d| d < diameter - 0.01) && !set,
        );
    }

    /// Thickness of what a part puts on a pin.
    pub(super) fn thickness(&self, part: PartId, point: PointId) -> Option<f64> {
        let hole = self
            .machine
            .work
            .holes
            .iter()
            .find(|h| h.part == part && h.point == point);
        match hole {
            Some(hole) => room(self.machine, hole).length,
            None => super::room::face(self.machine, part)
                .or_else(|| stock(self.machine, part).map(|s| sides(s.section)[0])),
        }
    }

    /// The hole of the holder in which a stud sits.
    fn seat_of(&self, holder: PartId, point: PointId) -> Option<Seat> {
        let hole = self
            .machine
            .work
            .holes
            .iter()
            .find(|h| h.part == holder && h.point == point);
        let deep = match hole.map(|h| &h.fitted) {
            Some(Fitted::Tapped { depth: Some(d), .. }) => Some(*d),
            _ => self.thickness(holder, point),
        };
        let material = material(self.machine, stock(self.machine, holder))?;
        Some(Seat {
            deep: deep?,
            bears: strength(material)?,
        })
    }

    /// How surely a part holds the pin at a point: tapped or tight on it surely, running on it surely not.
    pub(super) fn grips(&self, part: PartId, point: PointId) -> u8 {
        let holes = self.machine.work.holes.iter();
        let Some(hole) = holes
            .into_iter()
            .find(|h| h.part == part && h.point == point)
        else {
            return 1;
        };
        let limits = match &hole.fitted {
            Fitted::Tapped { .. } => return 3,
            Fitted::Bearing { .. } | Fitted::Bushing { .. } => return 0,
            Fitted::Plain { size, .. } => size.limits,
        };
        match super::room::pin(self.machine, point) {
            Some(pin) if super::seats::fit(&limits, &pin.limits).likely_clearance() < 0.0 => 2,
            Some(_) => 0,
            None => 1,
        }
    }

    /// Thickness of what a rod puts on the pin at one of its ends: the ball of a rod end, or its flat stock.
    pub(super) fn rod_on_pin(&self, rod: usize, end: usize) -> Option<f64> {
        let made = self.machine.work.rods.get(rod)?;
        if let Some(ends) = &made.ends {
            return Some(ends.get(end)?.rod_end.ball_width);
        }
        match made.stock.as_ref()?.section {
            Section::Flat([thick, _]) => Some(thick),
            Section::Square(a) => Some(a),
            Section::Round(_) | Section::Tube(_) | Section::Hexagon(_) => None,
        }
    }

    /// How a pin may be held, and by whom.
    fn held_pin(
        &self,
        point: PointId,
        fork: Option<PartId>,
        draft: &mut Draft,
    ) -> Vec<(Held, Option<PartId>)> {
        let parts = self.machine.parts.iter().enumerate();
        let carriers: Vec<PartId> = parts
            .filter(|(_, p)| p.carries.contains(&point))
            .map(|(i, _)| i)
            .collect();
        let mut on_it: Vec<(Option<PartId>, Option<f64>, f64)> = carriers
            .iter()
            .map(|p| (Some(*p), self.thickness(*p, point), self.layer(*p, point)))
            .collect();
        for (index, rod) in self.machine.rods.iter().enumerate() {
            for (end, at) in rod.joins.iter().enumerate() {
                if *at == point {
                    let layer = self.layer_of_rod(index, point);
                    on_it.push((None, self.rod_on_pin(index, end), layer));
                }
            }
        }
        // The thickest that sits on it beside its holder; none where one of them is not known.
        let lug = |holder: PartId| {
            let others = on_it.iter().filter(|o| o.0 != Some(holder));
            let known: Option<Vec<f64>> = others.map(|o| o.1).collect();
            known?.into_iter().reduce(f64::max)
        };
        // What of that stands farthest out.
        let out = |holder: PartId| {
            lug(holder)?;
            let others = on_it.iter().filter(|o| o.0 != Some(holder));
            let outs = others.filter_map(|o| Some(self.out(holder, point, o.1?, o.2)));
            outs.max_by(|a, b| a.to.total_cmp(&b.to))
        };
        if let Some(fork) = fork {
            let Some(lug) = lug(fork) else {
                draft.assume("nothing is known of what sits in the fork: shear only");
                draft.unoffered(NO_WIDTH);
                return vec![(Held::Fork { lug: 0.0, ear: 0.0 }, Some(fork))];
            };
            let ear = self.thickness(fork, point);
            if ear.is_none() {
                draft.assume(format!(
                    "nothing is known of the ears of {}: reckoned half as thick as what they hold",
                    self.part(fork)
                ));
            }
            let ear = ear.unwrap_or(lug / 2.0);
            return vec![(Held::Fork { lug, ear }, Some(fork))];
        }
        let most = carriers.iter().map(|p| self.grips(*p, point)).max();
        let may: Vec<PartId> = carriers
            .into_iter()
            .filter(|p| Some(self.grips(*p, point)) == most)
            .collect();
        let found: Vec<(Held, Option<PartId>)> = may
            .iter()
            .map(|&holder| {
                let out = out(holder);
                let seat = out.and_then(|_| self.seat_of(holder, point));
                (Held::Stud { out, seat }, Some(holder))
            })
            .collect();
        let is = |found: &(Held, Option<PartId>)| match found.0 {
            Held::Stud { out, seat } => (out.is_some(), seat.is_some()),
            Held::Fork { .. } => (true, true),
        };
        // Of two that may hold it, what is known is the guide.
        let known: Vec<_> = found.iter().copied().filter(|f| is(f).0).collect();
        if known.is_empty() {
            draft.assume("nothing is known of what sits on it: shear only");
            draft.unoffered(NO_WIDTH);
            let unknown = found.into_iter().map(|(_, holder)| (Held::UNKNOWN, holder));
            return unknown.collect();
        }
        let studs: Vec<_> = known.iter().map(is).collect();
        let found = known;
        let name = |h: PartId| {
            if h == FRAME {
                "the frame"
            } else {
                self.part(h)
            }
        };
        let names: Vec<&str> = found.iter().filter_map(|f| f.1).map(name).collect();
        draft.assume(match names.as_slice() {
            [one] => format!("a stud in {one}, loaded in the middle of what sits on it (no `fork` is given)"),
            more => format!(
                "who holds it is not told (a tapped or tight hole, or `fork`, does): a stud in {}, whichever is worse, loaded in the middle of what sits on it",
                more.join(" or ")
            ),
        });
        if !studs.into_iter().all(|s| s.1) {
            draft.assume("how deep it sits in its holder, or of what that is, is not known: the pressure there is not checked");
        }
        found
    }
}

/// A stud's shoulder over its thread, at least (common practice).
const SHOULDER: f64 = 1.15;
/// Why no other pin is offered.
const NO_WIDTH: &str = "how wide what sits on the pin is, and so its bending, is not known (stock of the rods and parts there tells it)";

const STUD: Source = Source::of("stud held at one end: M = F a, bending by 32 M/(π d³)");

fn checks(diameter: f64, asked: &Asked) -> Result<Vec<Check>, ElementError> {
    let Asked {
        held,
        force,
        yields,
        tires,
    } = *asked;
    let shear = |planes: u32| -> Result<Check, ElementError> {
        Ok(Check {
            what: "shear of the pin",
            acts: pin_shear(force, diameter, planes)?,
            bears: SHEAR_SHARE * yields,
            unit: "MPa",
            source: SOURCE,
        })
    };
    match held {
        Held::Fork { lug, ear } if lug > 0.0 && ear > 0.0 => {
            let clevis = Clevis {
                pin: diameter,
                pin_bore: 0.0,
                lug,
                ear,
                gap: 0.0,
            };
            let [shear, bending, ..] = clevis.checks(force, yields, yields, yields)?;
            let mut all = vec![shear, bending];
            if let Some((tires, again)) = &tires {
                let bent = clevis.stress(*again)?.bending;
                all.push(tires.check("fatigue of the pin", bent, 1.0, diameter)?);
            }
            Ok(all)
        }
        Held::Fork { .. } => Ok(vec![shear(2)?]),
        Held::Stud { out, seat } => {
            let mut all = vec![shear(1)?];
            if let Some(out) = out {
                let section = Round {
                    diameter,
                    bore: 0.0,
                };
                let bent = stress(section, force * out.arm, 0.0, 0.0)?.bending;
                all.push(Check {
                    what: "bending of the stud at its holder",
                    acts: bent,
                    bears: yields,
                    unit: "MPa",
                    source: STUD,
                });
                if let Some((tires, again)) = &tires {
                    let bent = stress(section, again * out.arm, 0.0, 0.0)?.bending;
                    // It is pressed or tight where it leaves its holder.
                    let [kf, _] = fits::hub(tires.tensile())?;
                    all.push(tires.check(
                        "fatigue of the stud at its holder",
                        bent,
                        kf,
                        diameter,
                    )?);
                }
                if let Some(seat) = seat {
                    all.push(Check {
                        what: "pressure of the stud in its hole",
                        acts: stud_pressure(force, out.to, diameter, seat.deep)?,
                        bears: seat.bears,
                        unit: "MPa",
                        source: IN_HOLE,
                    });
                }
            }
            Ok(all)
        }
    }
}

/// The machine is drawn in inches.
pub(super) fn is_inch(machine: &Machine) -> bool {
    matches!(machine.unit, Unit::Inch | Unit::Foot | Unit::Thou)
}
