//! Springs whose wire is known: rate, stress, solid length, buckling, pocket and rod.

use super::answers::Kind;
use super::fill::{compression, extension, torsion, unwound};
use super::pins::is_inch;
use super::say;
use super::study::{Draft, Study};
use super::worked::Works;
use crate::answers::Severity;
use crate::load::service::SpringService;
use elements::springs::choose::{Outsides, Wanted, choose};
use elements::springs::compression::{Compression, Ends, Seats, room};
use elements::springs::pick::{self, Pull, Turn};
use elements::springs::wire::{INCH_SIZES, METRIC_SIZES, Wire};
use elements::{Check, ElementError, Source};
use machine::Machine;
use machine::fitting::Coil;
use machine::work::{Spring, SpringKind};

/// Travel left before the coils touch, as a share of the travel: the least (common practice).
const CLASH: f64 = 0.10;
/// Factor wanted on the stress of wire: the shares of strength allowed have their own room.
const WIRE: f64 = 1.0;

/// How far the force of a chosen spring may be off where it pushes least, as a share of it.
const OFF: f64 = 0.1;
/// A coil without a pocket has as much room as this, over its own diameter.
const OPEN: f64 = 1.1;
/// Coils tried over a rod in the open, up to this many times it and so much more, mm.
const OVER: f64 = 2.0;
const BESIDE: f64 = 10.0;
/// Factor wanted against fatigue of wire (common practice).
const WORKS: f64 = 1.2;
/// A spring of less wire than this share of what the file has is worth a word.
const LIGHTER: f64 = 0.95;

const RATE: Source = Source::of("k = G d⁴/(8 D³ N)");

/// Coil over wire of what is wound without cracking, at least (EN 13906-1).
const WOUND: f64 = 4.0;

impl Study<'_> {
    pub(super) fn spring(&mut self, index: usize) {
        let machine = self.machine;
        let Some(spring) = machine.work.springs.get(index) else {
            return;
        };
        let word = match (&spring.kind, spring.pulls_only) {
            (SpringKind::Torsion { .. }, _) => "torsion spring",
            (_, true) => "extension spring",
            _ => "compression spring",
        };
        let service = self.service.springs.get(index).cloned().unwrap_or_default();
        let works = self.spring_works(index);
        let Some(coil) = &spring.coil else {
            if let Some(room) = &spring.room {
                let mut draft = Draft::new(
                    Kind::Spring,
                    format!("{word} to be chosen"),
                    spring.name.clone(),
                    format!("spring.{}", spring.name),
                    spring.place,
                );
                self.stored(&mut draft, spring, &service);
                let asked = Asked {
                    material: room.material,
                    pocket: room
                        .pocket
                        .unwrap_or_else(|| OVER * room.rod.unwrap_or(0.0) + BESIDE),
                    guided: room.pocket.is_some(),
                    rod: room.rod.unwrap_or(0.0),
                    ends: Ends::SquaredGround,
                    seats: Seats::BothFixed,
                    preset: false,
                    legs: [0.0; 2],
                };
                if let Some(works) = &works {
                    draft.assume(works.words());
                }
                self.better(&mut draft, spring, &service, &asked, (f64::INFINITY, works));
                self.undecided(&draft);
                if let Some(found) = draft.item.would_do.as_ref().and_then(|w| w.what.clone()) {
                    self.buy(
                        1,
                        &format!(
                            "{word}, {}, {}",
                            found.trim_start_matches("spring, "),
                            room.material.name
                        ),
                        &spring.name,
                    );
                }
                self.done(draft);
            }
            return;
        };
        let what = format!(
            "{word}, wire {}, outside {}, {} coils",
            say::size(coil.wire, machine),
            say::size(coil.outside, machine),
            coil.coils
        );
        self.buy(1, &format!("{what}, {}", coil.material.name), &spring.name);
        let mut draft = Draft::new(
            Kind::Spring,
            what,
            spring.name.clone(),
            format!("spring.{}", spring.name),
            spring.place,
        );
        draft.assume(format!(
            "wire: {}",
            super::study::source(coil.material.source)
        ));
        if let Some(error) = unwound(coil, &spring.kind, spring.pulls_only) {
            self.impossible(&draft, &error);
            self.done(draft);
            return;
        }
        let dead = coil.ends.dead_coils();
        let pushes = matches!(spring.kind, SpringKind::Between { .. }) && !spring.pulls_only;
        if pushes && coil.coils <= dead + 1.0 {
            let sentence = format!(
                "{}, {}: {dead} of its {} coils are closed: {}",
                draft.item.what,
                draft.item.at,
                coil.coils,
                if coil.coils <= dead {
                    "nothing is left to spring"
                } else {
                    "less than one is left to spring"
                }
            );
            let try_this = format!("{} coils or more", dead + 2.0);
            self.say(Severity::Fault, &draft, sentence, Some(try_this));
            self.done(draft);
            return;
        }
        let worked = match &spring.kind {
            SpringKind::Torsion { .. } => self.torsion(&mut draft, coil, &service),
            SpringKind::Between { .. } if spring.pulls_only => {
                self.extension(&mut draft, coil, spring, &service)
            }
            SpringKind::Between { free, .. } => self.compression(&mut draft, coil, *free, &service),
        };
        if let Err(error) = worked {
            self.impossible(&draft, &error);
        }
        if let Some(works) = &works {
            self.spring_tires(&mut draft, coil, spring, works);
        }
        self.stored(&mut draft, spring, &service);
        let asked = Asked {
            material: coil.material,
            pocket: coil.pocket.unwrap_or(OPEN * coil.outside),
            guided: coil.pocket.is_some(),
            rod: coil.rod.unwrap_or(0.0),
            ends: coil.ends,
            seats: coil.seats,
            preset: coil.preset,
            legs: coil.legs,
        };
        let mean = coil.outside - coil.wire;
        let wire = coil.material.density * std::f64::consts::PI.powi(2) / 4.0
            * coil.wire.powi(2)
            * mean
            * coil.coils;
        self.better(&mut draft, spring, &service, &asked, (wire, works));
        self.done(draft);
    }

    /// A spring that is still to be chosen is a thing to do.
    fn undecided(&mut self, draft: &Draft) {
        let Some(would) = &draft.item.would_do else {
            return;
        };
        let (what, at) = (&draft.item.what, &draft.item.at);
        match &would.what {
            Some(found) => {
                let sentence = format!("{what}, {at}: {found} does it");
                let try_this =
                    String::from("write it as `coil = { ... }` in place of `rate` and `room`");
                self.say(Severity::Note, draft, sentence, Some(try_this));
            }
            None => {
                let sentence = format!("{what}, {at}: none of the {} does it", would.from);
                let try_this =
                    String::from("a wider pocket, a longer spring (`free`), or less force");
                self.say(Severity::Miss, draft, sentence, Some(try_this));
            }
        }
    }

    /// The lightest spring of preferred sizes that does the same in the same room.
    fn better(
        &mut self,
        draft: &mut Draft,
        spring: &Spring,
        service: &SpringService,
        asked: &Asked,
        (mass, works): (f64, Option<Works>),
    ) {
        let lives = |checks: Result<Vec<Check>, ElementError>| {
            checks.is_ok_and(|all| all.iter().all(|c| c.passes(WORKS)))
        };
        let machine = self.machine;
        let sizes = wires(machine);
        let coils = if is_inch(machine) {
            Outsides::Inch
        } else {
            Outsides::Metric
        };
        let from = format!(
            "springs of {} in a room of {} across",
            asked.material.name,
            say::size((100.0 * asked.pocket).round() / 100.0, machine)
        );
        // What is worked over no way has no two lengths to be chosen for.
        let found: Option<(Option<(String, f64)>, Option<&str>)> = match (
            &spring.kind,
            service.range,
        ) {
            (SpringKind::Between { rate, free, .. }, Some([least, most])) if spring.pulls_only => {
                let (first, second) = (least.max(*free), most);
                (second > first + 1e-6).then(|| {
                        let wanted = Pull {
                            first_force: rate * (first - free),
                            first_length: first,
                            second_force: rate * (second - free),
                            second_length: second,
                            force_tolerance: OFF,
                            outside: asked.pocket,
                            factor: WIRE,
                            coils,
                        };
                        let all =
                            pick::extension(&wanted, asked.material, &sizes).unwrap_or_default();
                        let best = all.iter().find(|p| {
                            works.as_ref().is_none_or(|w| {
                                lives(w.extension(&p.spring, p.free - p.spring.initial / rate))
                            })
                        });
                        let best = best.map(|p| {
                            let text = format!(
                                "wire {}, outside {}, {} coils, {} inside the loops, wound with {} of initial tension",
                                say::size(p.spring.wire, machine),
                                say::size(p.spring.mean + p.spring.wire, machine),
                                p.spring.body_coils,
                                say::size((10.0 * p.free).round() / 10.0, machine),
                                say::value(p.spring.initial, "N", machine)
                            );
                            (text, p.mass)
                        });
                        (best, None)
                    })
            }
            (SpringKind::Between { rate, free, .. }, Some([least, most])) => {
                let (first, second) = (most.min(*free), least);
                (second + 1e-6 < first && second > 0.0).then(|| {
                    let wanted = Wanted {
                        first_force: rate * (free - first),
                        first_length: first,
                        second_force: rate * (free - second),
                        second_length: second,
                        force_tolerance: OFF,
                        bore: asked.pocket.clamp(1.0, 200.0),
                        pocket: asked.guided,
                        rod: asked.rod,
                        ends: asked.ends,
                        seats: asked.seats,
                        factor: WIRE,
                        clash: CLASH,
                        preset: asked.preset,
                        coils,
                    };
                    match choose(&wanted, asked.material, &sizes) {
                        Ok(all) => {
                            let best = all.choices.iter().find(|c| {
                                works
                                    .as_ref()
                                    .is_none_or(|w| lives(w.compression(&c.spring)))
                            });
                            let why = if all.choices.is_empty() {
                                all.rejected.mostly()
                            } else {
                                Some("they tire")
                            };
                            (best.map(|c| (chosen(&c.spring, machine), c.mass)), why)
                        }
                        Err(_) => (None, None),
                    }
                })
            }
            (SpringKind::Torsion { rate, .. }, _) => (service.most.value > 0.0).then(|| {
                let wanted = Turn {
                    moment: service.most.value,
                    rate: *rate,
                    rate_tolerance: OFF,
                    arbor: asked.rod,
                    outside: asked.pocket,
                    legs: (asked.legs[0], asked.legs[1]),
                    factor: WIRE,
                    coils,
                };
                let all = pick::torsion(&wanted, asked.material, &sizes).unwrap_or_default();
                let best = all.iter().find(|p| {
                    works
                        .as_ref()
                        .is_none_or(|w| lives(w.torsion(&p.spring, *rate)))
                });
                let best = best.map(|p| {
                    let text = format!(
                        "wire {}, outside {}, {} coils",
                        say::size(p.spring.wire, machine),
                        say::size(p.spring.mean + p.spring.wire, machine),
                        p.spring.body_coils
                    );
                    (text, p.mass)
                });
                (best, None)
            }),
            _ => None,
        };
        let Some((best, why)) = found else { return };
        let from = why.map_or(from.clone(), |why| format!("{from} (mostly: {why})"));
        let lighter = best.as_ref().is_some_and(|(_, kg)| *kg < LIGHTER * mass);
        draft.would_do(
            best.map(|(text, _)| text),
            from,
            lighter && mass.is_finite(),
        );
    }

    /// Fatigue of a spring that works by the minute.
    fn spring_tires(&self, draft: &mut Draft, coil: &Coil, spring: &Spring, works: &Works) {
        draft.assume(works.words());
        let checks = match &spring.kind {
            SpringKind::Torsion { rate, .. } => works.torsion(&torsion(coil), *rate),
            SpringKind::Between { free, .. } if spring.pulls_only => {
                works.extension(&extension(coil), *free)
            }
            SpringKind::Between { free, .. } => works.compression(&compression(coil, *free)),
        };
        for check in checks.into_iter().flatten() {
            let checked = self.check(&check, WORKS, None);
            draft.item.checks.push(checked);
        }
    }

    fn stored(&self, draft: &mut Draft, spring: &Spring, service: &SpringService) {
        let (SpringKind::Between { rate, .. } | SpringKind::Torsion { rate, .. }) = spring.kind;
        let unit = if matches!(spring.kind, SpringKind::Torsion { .. }) {
            "N·mm/rad"
        } else {
            "N/mm"
        };
        let shown = if unit == "N/mm" {
            format!("rate {}", say::value(rate, unit, self.machine))
        } else {
            format!(
                "rate {}",
                say::value(rate.to_radians(), "N·mm/deg", self.machine)
            )
        };
        let unit_of_force = if unit == "N/mm" { "N" } else { "N·mm" };
        let text = format!(
            "{shown}; works up to {}",
            say::value(service.most.value, unit_of_force, self.machine)
        );
        draft
            .item
            .figures
            .push(self.figure("rate", rate, unit, RATE, text));
    }

    fn compression(
        &mut self,
        draft: &mut Draft,
        coil: &Coil,
        free: f64,
        service: &SpringService,
    ) -> Result<(), ElementError> {
        let machine = self.machine;
        let spring = compression(coil, free);
        let figures = spring.figures()?;
        let size = |x: f64| say::size((100.0 * x).round() / 100.0, machine);
        let text = format!(
            "solid at {}, {} outside when solid",
            size(figures.solid),
            size(figures.outside_solid)
        );
        draft
            .item
            .figures
            .push(self.figure("solid length", figures.solid, "mm", RATE, text));
        if let Some([least, _]) = service.range {
            let least = least.min(free);
            if least < figures.solid - 1e-9 {
                let sentence = format!(
                    "{}, {}: it goes solid at {} before the stroke ends at {}",
                    draft.item.what,
                    draft.item.at,
                    size(figures.solid),
                    size(least)
                );
                let try_this = format!(
                    "fewer coils, thinner wire, or a seat {} further off",
                    size(figures.solid - least + CLASH * (free - figures.solid))
                );
                self.say(Severity::Fault, draft, sentence, Some(try_this));
            } else {
                let at = spring.at(least, coil.preset)?;
                draft
                    .item
                    .checks
                    .push(self.check(&at.check, WIRE, Some(&service.most)));
                self.set_out(draft, &spring, least, coil.preset)?;
                if at.clash < CLASH {
                    let sentence = format!(
                        "{}, {}: only {:.0} % of its travel is left before the coils touch; 10 to 15 % are usual (common practice)",
                        draft.item.what,
                        draft.item.at,
                        100.0 * at.clash
                    );
                    self.say(
                        Severity::Caution,
                        draft,
                        sentence,
                        Some("one coil less, or a longer free length".into()),
                    );
                }
                if let Some(travel) = spring.buckling(coil.seats)?.at_travel
                    && free - least > travel
                    && coil.rod.is_none()
                    && coil.pocket.is_none()
                {
                    let sentence = format!(
                        "{}, {}: it bows out from {} of travel on, and is worked {}",
                        draft.item.what,
                        draft.item.at,
                        size(travel),
                        size(free - least)
                    );
                    self.say(Severity::Miss, draft, sentence, Some("guide it over a rod or in a pocket (`rod`, `pocket`), or take a stouter coil".into()));
                }
            }
        }
        let found = room(&spring, coil.pocket, coil.rod)?;
        for (room, word) in [
            (found.in_pocket, "pocket is too tight"),
            (found.over_rod, "rod is too thick"),
        ] {
            if let Some(room) = room.filter(|r| *r < 0.0) {
                let sentence = format!(
                    "{}, {}: its {word} by {}",
                    draft.item.what,
                    draft.item.at,
                    say::close(-room, machine)
                );
                self.say(
                    Severity::Fault,
                    draft,
                    sentence,
                    Some("leave a tenth of the coil's diameter".into()),
                );
            }
        }
        if figures.index < WOUND {
            let sentence = format!(
                "{}, {}: coil over wire is {:.1}: below {WOUND} it is hard to wind, and the wire cracks (EN 13906-1: 4 to 20)",
                draft.item.what, draft.item.at, figures.index
            );
            let try_this = format!(
                "a thinner wire, or {} outside",
                say::size(((WOUND + 1.0) * coil.wire).ceil(), machine)
            );
            self.say(Severity::Caution, draft, sentence, Some(try_this));
        } else if figures.odd_index {
            draft.assume(format!(
                "coil over wire is {:.1}: outside 4 to 12 it is hard to wind, or buckles",
                figures.index
            ));
        }
        Ok(())
    }

    /// What taking the set out gains, and what pressing it solid does.
    fn set_out(
        &mut self,
        draft: &mut Draft,
        spring: &Compression,
        least: f64,
        preset: bool,
    ) -> Result<(), ElementError> {
        let solid = spring.figures()?.solid;
        let shut = spring.at(solid, preset)?.check.factor();
        if shut < WIRE && preset {
            let sentence = format!(
                "{}, {}: its set cannot be taken out: pressed solid it bears {} times that, and goes on settling",
                draft.item.what,
                draft.item.at,
                say::factor(shut)
            );
            let try_this = "a wider coil or thicker wire, or `preset = false`";
            self.say(
                Severity::Caution,
                draft,
                sentence,
                Some(try_this.to_owned()),
            );
        } else if shut < WIRE {
            draft.assume(format!(
                "pressed solid it takes a set (it bears {} times that): do not let it be shut when it is fitted",
                say::factor(shut)
            ));
        }
        let (as_wound, pressed) = (
            spring.at(least, false)?.check,
            spring.at(least, true)?.check,
        );
        if !preset && !as_wound.passes(WIRE) && pressed.passes(WIRE) {
            let text = format!(
                "wound longer and pressed solid a few times (`preset = true`) it would bear {} times",
                say::factor(pressed.factor())
            );
            draft.item.figures.push(self.figure(
                "factor with the set taken out",
                pressed.factor(),
                "",
                pressed.source,
                text,
            ));
        }
        Ok(())
    }

    fn extension(
        &mut self,
        draft: &mut Draft,
        coil: &Coil,
        own: &Spring,
        service: &SpringService,
    ) -> Result<(), ElementError> {
        let machine = self.machine;
        let spring = extension(coil);
        let figures = spring.figures()?;
        let size = |x: f64| say::size((10.0 * x).round() / 10.0, machine);
        if let SpringKind::Between { free, .. } = own.kind {
            // The file's own free length; here it is the one at which it is slack.
            let free = free + coil.initial / figures.rate;
            let text = format!(
                "full loops make it {} long inside them, free",
                size(figures.free)
            );
            draft.item.figures.push(self.figure(
                "free length with full loops",
                figures.free,
                "mm",
                RATE,
                text,
            ));
            if free < figures.free - 0.05 {
                let sentence = format!(
                    "{}, {}: its coils and loops alone are {} long, and it has {} to be in when slack",
                    draft.item.what,
                    draft.item.at,
                    size(figures.free),
                    size(free)
                );
                self.say(
                    Severity::Fault,
                    draft,
                    sentence,
                    Some(String::from(
                        "fewer coils, thinner wire, or a longer `free`",
                    )),
                );
            } else if free > 1.02 * figures.free {
                draft.assume(format!(
                    "its loops are drawn out by {} to make up its length",
                    size(free - figures.free)
                ));
            }
        }
        if coil.initial > figures.initial_preferred.1 {
            let sentence = format!(
                "{}, {}: {} of initial tension is more than can be wound with certainty, {} to {}",
                draft.item.what,
                draft.item.at,
                say::value(coil.initial, "N", machine),
                say::value(figures.initial_preferred.0, "N", machine),
                say::value(figures.initial_preferred.1, "N", machine)
            );
            self.say(
                Severity::Caution,
                draft,
                sentence,
                Some(String::from(
                    "less `initial`, thicker wire, or a tighter coil",
                )),
            );
        }
        let at = spring.at(service.most.value)?;
        for check in &at.checks {
            let checked = self.check(check, WIRE, Some(&service.most));
            draft.item.checks.push(checked);
        }
        draft.assume("full loops at both ends, bent as the body is wound");
        Ok(())
    }

    fn torsion(
        &mut self,
        draft: &mut Draft,
        coil: &Coil,
        service: &SpringService,
    ) -> Result<(), ElementError> {
        let spring = torsion(coil);
        let at = spring.at(service.most.value, coil.rod.unwrap_or(0.0))?;
        draft
            .item
            .checks
            .push(self.check(&at.check, WIRE, Some(&service.most)));
        if coil.rod.is_some() && at.over_arbor < 0.0 {
            let sentence = format!(
                "{}, {}: wound up it binds on its arbor by {}",
                draft.item.what,
                draft.item.at,
                say::close(-at.over_arbor, self.machine)
            );
            self.say(
                Severity::Fault,
                draft,
                sentence,
                Some("a thinner arbor, or a coil or two more".into()),
            );
        }
        draft.assume("it is turned the way that closes it");
        Ok(())
    }
}

/// What a spring of the file has for room and is made of.
struct Asked {
    material: &'static Wire,
    pocket: f64,
    /// The room is a pocket that keeps the coil straight.
    guided: bool,
    rod: f64,
    ends: Ends,
    seats: Seats,
    preset: bool,
    legs: [f64; 2],
}

/// Preferred wire sizes in the system of the machine, mm.
pub(super) fn wires(machine: &Machine) -> Vec<f64> {
    if is_inch(machine) {
        elements::stock::inches(&INCH_SIZES)
    } else {
        METRIC_SIZES.to_vec()
    }
}

/// A compression spring in words.
pub(super) fn chosen(spring: &Compression, machine: &Machine) -> String {
    format!(
        "spring, wire {}, outside {}, {} coils, {} free",
        say::size(spring.wire, machine),
        say::size(spring.mean + spring.wire, machine),
        spring.coils,
        say::size((10.0 * spring.free).round() / 10.0, machine)
    )
}
