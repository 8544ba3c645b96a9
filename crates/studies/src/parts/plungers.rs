//! Spring plungers in their notches: do they hold what drives them out, what of springs does it, what the notch bears.

use super::answers::Kind;
use super::fill::compression;
use super::pins::is_inch;
use super::room::{material, stock};
use super::say;
use super::springs::{chosen, wires};
use super::study::{Draft, Study, strength};
use crate::answers::Severity;
use crate::load::service::Peak;
use elements::contact::{self, Body, dents_at, line};
use elements::detent::{self, SOURCE, hold, spring_for_moment};
use elements::springs::choose::Outsides;
use elements::springs::plunger::{Needed, springs};
use elements::{Check, ElementError, Source};
use machine::fitting::Plunger;
use machine::model::{FRAME, Moves};
use machine::work::{Detent, LowHigh, Seat, WorkJudges};
use std::f64::consts::FRAC_PI_2;

/// How many times a notch should hold what drives it out, where no ask says how often: a knock does the rest (common practice).
const HOLDS: f64 = 1.5;
/// A spring whose force with the plunger out is more than this many times that with it home makes the lever hard to lift.
const STIFF: f64 = 1.5;
/// A spring is chosen for this much more than is needed.
const SPARE: f64 = 1.03;
/// Travel that a plunger's spring has left before its coils touch, as a share of the travel.
const CLASH: f64 = 0.10;

/// The flank that holds, rad against the moving part, and how far the plunger comes back, mm.
struct Rest {
    slope: f64,
    lift: f64,
}

impl Study<'_> {
    pub(super) fn plunger(&mut self, index: usize) {
        let machine = self.machine;
        let Some(detent) = machine.work.detents.get(index) else {
            return;
        };
        let Some(plunger) = &detent.plunger else {
            return;
        };
        let size = |mm: f64| say::size(mm, machine);
        let nose = match (plunger.nose, detent.seat) {
            (_, Seat::Hole { ball, .. }) => format!("ball {}", size(ball)),
            (Some(nose), _) => format!("nose {}", size(nose)),
            (None, Seat::Square) => String::from("square"),
            (None, Seat::Cone(_)) => String::from("pointed"),
        };
        let what = format!("spring plunger, {nose}");
        let at = machine.drives.get(detent.drive).map_or("", |d| &d.name);
        let mut draft = Draft::new(
            Kind::Plunger,
            what.clone(),
            format!("{} of {at}", detent.name),
            format!("detent.{}", detent.name),
            detent.place,
        );
        self.buy(1, &what, &detent.name);
        let peak = self.service.notches.get(index).cloned().unwrap_or_default();
        if let Err(error) = self.notched(&mut draft, detent, plunger, &peak) {
            self.impossible(&draft, &error);
        }
        self.done(draft);
    }

    /// How many times the notch has to hold what drives it out.
    fn holds_wanted(&self, drive: usize) -> (f64, Option<&str>) {
        let asked = self
            .machine
            .work
            .asks
            .iter()
            .filter_map(|ask| match &ask.judges {
                WorkJudges::Holds {
                    drive: d, factor, ..
                } if *d == drive => Some((*factor, ask.name.as_str())),
                _ => None,
            });
        let most = asked.max_by(|a, b| a.0.total_cmp(&b.0));
        most.map_or((HOLDS, None), |(factor, name)| (factor, Some(name)))
    }

    fn notched(
        &mut self,
        draft: &mut Draft,
        detent: &Detent,
        plunger: &Plunger,
        peak: &Peak,
    ) -> Result<(), ElementError> {
        let machine = self.machine;
        let Some(rest) = self.rest(draft, detent, plunger)? else {
            return Ok(());
        };
        let size = |mm: f64| say::size((100.0 * mm).round() / 100.0, machine);
        let mu = detent
            .friction
            .or(machine.work.usual.friction)
            .unwrap_or(LowHigh {
                low: 0.0,
                high: 0.0,
            });
        let slides = matches!(
            machine.drives.get(detent.drive).map(|d| &d.moves),
            Some(Moves::Slides(_))
        );
        let unit = if slides { "N" } else { "N·mm" };
        let (wanted, ask) = self.holds_wanted(detent.drive);
        draft.assume(match ask {
            Some(name) => format!(
                "wanted: {wanted} times what drives it out beyond friction, as ask {name} has it"
            ),
            None => format!(
                "wanted: {wanted} times what drives it out beyond friction (common practice)"
            ),
        });
        let locked = detent.seat == Seat::Square
            || hold(1.0, rest.slope, mu.low, mu.low)?.breakaway.is_none();
        if locked {
            draft.assume(
                "its flank locks: it is drawn by hand, and what holds is the shear of the plunger, which is not checked",
            );
        }
        if detent.spring > 0.0 && !locked {
            let held = |mu: f64| -> Result<f64, ElementError> {
                Ok(hold(detent.spring, rest.slope, mu, mu)?
                    .breakaway
                    .map_or(f64::INFINITY, |h| h * detent.radius))
            };
            let check = Check {
                what: if slides {
                    "force that drives it out of the notch"
                } else {
                    "moment that drives it out of the notch"
                },
                acts: peak.value,
                bears: held(mu.low)?,
                unit,
                source: SOURCE,
            };
            draft
                .item
                .checks
                .push(self.check(&check, wanted, Some(peak)));
            let most = held(mu.high)?;
            let hand = self.hand_arm(detent.drive).map_or_else(String::new, |arm| {
                format!(", {} at the hand", say::value(most / arm, "N", machine))
            });
            let text = format!(
                "out of the notch it takes {} to {}{hand}",
                say::value(held(mu.low)?, unit, machine),
                say::value(most, unit, machine)
            );
            let mut figure = self.figure("breakaway", held(mu.low)?, unit, SOURCE, text);
            figure.to = most.is_finite().then_some(most);
            draft.item.figures.push(figure);
        }
        self.coil_of(draft, plunger, &rest, peak)?;
        let bedded = self.bedded(draft, detent, plunger, &rest, mu)?;
        // The spring that would hold it.
        if peak.value > 0.0 && !locked {
            let seated = spring_for_moment(
                peak.value * wanted,
                detent.radius,
                rest.slope,
                mu.low,
                mu.low,
            )?;
            // Its sizes are rounded to what is made.
            let surely = SPARE * seated;
            let needed = Needed {
                seated: surely,
                lift: rest.lift,
                lifted: STIFF * surely,
            };
            let text = format!(
                "{} of spring force in the notch holds {wanted} times",
                say::value(seated, "N", machine)
            );
            draft
                .item
                .figures
                .push(self.figure("spring force needed", seated, "N", SOURCE, text));
            let steps = if is_inch(machine) {
                Outsides::Inch
            } else {
                Outsides::Metric
            };
            let (what, why) = match springs(
                &needed,
                plunger.bore,
                plunger.length,
                plunger.material,
                &wires(machine),
                steps,
            ) {
                Ok(found) => {
                    let any = !found.choices.is_empty();
                    let best = found.choices.iter().find(|c| {
                        let home = c.spring.at(plunger.length, false);
                        home.is_ok_and(|h| h.force <= bedded)
                    });
                    let why = if any && best.is_none() {
                        "they hold, and dent the seat"
                    } else {
                        found.rejected.mostly().unwrap_or("nothing fits")
                    };
                    (best.map(|c| chosen(&c.spring, machine)), why)
                }
                Err(_) => (None, "it goes solid before it is lifted"),
            };
            let from = format!(
                "springs of {} in a hole of {}, {} long with the plunger home ({why})",
                plunger.material.name,
                size(plunger.bore),
                size(plunger.length)
            );
            if seated > bedded {
                draft.instead = Some(String::from(
                    "cut the seat in hardened steel (`seat-material`), take a larger nose, or set the notch on a larger radius",
                ));
            }
            draft.would_do(what, from, false);
        }
        Ok(())
    }

    /// Slope and lift, by what the seat is.
    fn rest(
        &mut self,
        draft: &mut Draft,
        detent: &Detent,
        plunger: &Plunger,
    ) -> Result<Option<Rest>, ElementError> {
        let machine = self.machine;
        let rest = match (detent.seat, plunger.nose) {
            (Seat::Hole { hole, ball }, _) => {
                let rest = detent::Seat::Hole { diameter: hole }.rest(ball)?;
                Rest {
                    slope: rest.slope,
                    lift: rest.depth,
                }
            }
            (Seat::Cone(included), Some(nose)) => {
                let mouth = plunger.mouth.unwrap_or(nose);
                let widest = nose / (included / 2.0).cos();
                if mouth >= widest {
                    let sentence = format!(
                        "{}, {}: its seat has a mouth of {}, and a nose of {} sinks into it to its middle from {} on",
                        draft.item.what,
                        draft.item.at,
                        say::size(mouth, machine),
                        say::size(nose, machine),
                        say::size((100.0 * widest).floor() / 100.0, machine)
                    );
                    let wide = say::size(
                        (10.0 * nose * (included / 2.0).cos()).ceil() / 10.0,
                        machine,
                    );
                    let try_this = format!(
                        "`mouth = \"{wide}\"` lets the nose touch the flank; or a larger nose"
                    );
                    self.say(Severity::Fault, draft, sentence, Some(try_this));
                    return Ok(None);
                }
                let rest = detent::Seat::Cone { included, mouth }.rest(nose)?;
                let flank = FRAC_PI_2 - included / 2.0;
                if (rest.slope - flank).abs() > 1e-6 {
                    let sentence = format!(
                        "{}, {}: the nose of {} rests on the edge of its seat and not on the flank",
                        draft.item.what,
                        draft.item.at,
                        say::size(nose, machine)
                    );
                    let wide = say::size(
                        (10.0 * nose * (included / 2.0).cos()).ceil() / 10.0,
                        machine,
                    );
                    self.say(
                        Severity::Caution,
                        draft,
                        sentence,
                        Some(format!(
                            "sink the seat to `mouth = \"{wide}\"`, or take a smaller nose"
                        )),
                    );
                }
                Rest {
                    slope: flank,
                    lift: rest.depth,
                }
            }
            (Seat::Cone(included), None) => {
                let mouth = plunger.mouth.unwrap_or(0.0);
                Rest {
                    slope: FRAC_PI_2 - included / 2.0,
                    lift: mouth / 2.0 / (included / 2.0).tan(),
                }
            }
            (Seat::Square, _) => Rest {
                slope: FRAC_PI_2,
                lift: plunger.lift.unwrap_or(0.0),
            },
        };
        if rest.lift >= plunger.length {
            let sentence = format!(
                "{}, {}: it has to come back {} and its spring is only {} long there",
                draft.item.what,
                draft.item.at,
                say::close(rest.lift, machine),
                say::size(plunger.length, machine)
            );
            self.say(
                Severity::Fault,
                draft,
                sentence,
                Some(String::from(
                    "a deeper hole for the spring (`length`), or a shallower seat",
                )),
            );
            return Ok(None);
        }
        let text = format!(
            "the plunger comes back {} to let go",
            say::close(rest.lift, machine)
        );
        draft
            .item
            .figures
            .push(self.figure("lift", rest.lift, "mm", SOURCE, text));
        Ok(Some(rest))
    }

    /// Its spring, when the file tells it, with the plunger out.
    fn coil_of(
        &mut self,
        draft: &mut Draft,
        plunger: &Plunger,
        rest: &Rest,
        peak: &Peak,
    ) -> Result<(), ElementError> {
        let Some((coil, free)) = &plunger.coil else {
            draft.assume("no `coil` of its spring is given: its stress is not checked");
            return Ok(());
        };
        let machine = self.machine;
        let spring = compression(coil, *free);
        let figures = spring.figures()?;
        let out = plunger.length - rest.lift;
        let size = |mm: f64| say::size((100.0 * mm).round() / 100.0, machine);
        self.buy(
            1,
            &format!(
                "compression {}, {}",
                chosen(&spring, machine),
                coil.material.name
            ),
            &draft.item.at,
        );
        if out < figures.solid - 1e-9 {
            let sentence = format!(
                "{}, {}: its spring goes solid at {} before the plunger is out at {}",
                draft.item.what,
                draft.item.at,
                size(figures.solid),
                size(out)
            );
            let deeper = size(figures.solid - out + CLASH * (free - figures.solid));
            self.say(
                Severity::Fault,
                draft,
                sentence,
                Some(format!("fewer coils, or a hole {deeper} deeper")),
            );
            return Ok(());
        }
        let at = spring.at(out, coil.preset)?;
        let home = spring.at(plunger.length, coil.preset)?;
        draft
            .item
            .checks
            .push(self.check(&at.check, 1.0, Some(peak)));
        let text = format!(
            "spring {} with the plunger home, {} with it out",
            say::value(home.force, "N", machine),
            say::value(at.force, "N", machine)
        );
        let mut figure = self.figure(
            "spring force",
            home.force,
            "N",
            Source::of("k = G d⁴/(8 D³ N)"),
            text,
        );
        figure.to = Some(at.force);
        draft.item.figures.push(figure);
        if at.clash < CLASH {
            let sentence = format!(
                "{}, {}: only {:.0} % of its spring's travel is left before the coils touch; 10 to 15 % are usual (common practice)",
                draft.item.what,
                draft.item.at,
                100.0 * at.clash
            );
            self.say(
                Severity::Caution,
                draft,
                sentence,
                Some(String::from("one coil less, or a deeper hole")),
            );
        }
        if at.force > STIFF * home.force {
            draft.assume(format!(
                "its force grows {:.1} times as it lifts: a softer, longer spring lets go more evenly (common practice)",
                at.force / home.force
            ));
        }
        Ok(())
    }

    /// What the notch bears under the nose at breakaway; the greatest force of the spring that it bears, N.
    fn bedded(
        &self,
        draft: &mut Draft,
        detent: &Detent,
        plunger: &Plunger,
        rest: &Rest,
        mu: LowHigh,
    ) -> Result<f64, ElementError> {
        let (Seat::Cone(_), Some(nose)) = (detent.seat, plunger.nose) else {
            if matches!(detent.seat, Seat::Hole { .. }) {
                draft.assume(
                    "the edge of its hole beds in to the ball after some strokes: break it lightly",
                );
            }
            return Ok(f64::INFINITY);
        };
        let own = match detent.seat_material {
            Some(index) => self.machine.work.materials.get(index),
            None => {
                draft.assume("no `seat-material` is named: the seat is cut in the frame's stock");
                material(self.machine, stock(self.machine, FRAME)).or(self.steel())
            }
        };
        let Some((material, yields)) = own.and_then(|m| Some((m, strength(m)?))) else {
            return Ok(f64::INFINITY);
        };
        // At breakaway one flank carries all: spring = N (cos β − µ sin β).
        let share = rest.slope.cos() - mu.high * rest.slope.sin();
        if share <= 0.0 || detent.spring <= 0.0 {
            return Ok(f64::INFINITY);
        }
        let ball = Body {
            radius: nose / 2.0,
            youngs: 207_000.0,
            poisson: 0.292,
        };
        let flank = Body {
            radius: f64::INFINITY,
            youngs: material.modulus,
            poisson: material.poisson,
        };
        // A ball touches a cone all round a circle; pushed to one side it bears on that side's half, seen from above.
        let width = nose * rest.slope.sin();
        let touch = line(ball, flank, width, detent.spring / share)?;
        let mut check = contact::check(&touch, dents_at(yields, true)?)?;
        check.what = "contact pressure of the nose on one side of its cone";
        draft.item.checks.push(self.check(&check, 1.0, None));
        draft.assume(format!("the seat is a cone in {}, the nose of hard steel; in a groove it touches at two spots and digs in until they are as wide", material.name));
        // A line's pressure grows with the root of its force.
        Ok(detent.spring * check.factor().powi(2))
    }

    /// From the centre of a turning drive to where the hand takes hold, as drawn, mm.
    fn hand_arm(&self, drive: usize) -> Option<f64> {
        let machine = self.machine;
        let hand = machine
            .work
            .hands
            .get(drive)?
            .as_ref()
            .filter(|h| h.along.is_none())?;
        let Moves::Turns(part) = machine.drives.get(drive)?.moves else {
            return None;
        };
        let centre = machine.points.get(self.centre(part, FRAME)?)?;
        let grip = machine.points.get(hand.at)?;
        let arm = (grip.x - centre.x).hypot(grip.y - centre.y);
        (grip.plane == centre.plane && arm > 0.0).then_some(arm)
    }
}
