//! Springs whose wire is known: rate, stress, solid length, buckling, pocket and rod.

use super::answers::Kind;
use super::fill::{compression, extension, torsion, unwound};
use super::say;
use super::study::{Draft, Study};
use crate::answers::Severity;
use crate::load::service::SpringService;
use elements::springs::compression::room;
use elements::{ElementError, Source};
use machine::fitting::Coil;
use machine::work::{Spring, SpringKind};

/// Travel left before the coils touch, as a share of the travel: the least (common practice).
const CLASH: f64 = 0.10;
/// Factor wanted on the stress of wire: the shares of strength allowed have their own room.
const WIRE: f64 = 1.0;

const RATE: Source = Source::of("k = G d⁴/(8 D³ N)");

impl Study<'_> {
    pub(super) fn spring(&mut self, index: usize) {
        let machine = self.machine;
        let Some(spring) = machine.work.springs.get(index) else {
            return;
        };
        let Some(coil) = &spring.coil else { return };
        let word = match (&spring.kind, spring.pulls_only) {
            (SpringKind::Torsion { .. }, _) => "torsion spring",
            (_, true) => "extension spring",
            _ => "compression spring",
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
        let service = self.service.springs.get(index).cloned().unwrap_or_default();
        let worked = match &spring.kind {
            SpringKind::Torsion { .. } => self.torsion(&mut draft, coil, &service),
            SpringKind::Between { .. } if spring.pulls_only => {
                self.extension(&mut draft, coil, &service)
            }
            SpringKind::Between { free, .. } => self.compression(&mut draft, coil, *free, &service),
        };
        if let Err(error) = worked {
            self.impossible(&draft, &error);
        }
        self.stored(&mut draft, spring, &service);
        self.done(draft);
    }

    fn stored(&self, draft: &mut Draft, spring: &Spring, service: &SpringService) {
        let (SpringKind::Between { rate, .. } | SpringKind::Torsion { rate, .. }) = spring.kind;
        let unit = if matches!(spring.kind, SpringKind::Torsion { .. }) {
            "N·mm/rad"
        } else {
            "N/mm"
        };
        let shown = if unit == "N/mm" {
            format!("rate {} N/mm", say::factor(rate))
        } else {
            format!("rate {} N mm/deg", say::factor(rate.to_radians()))
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
        if figures.odd_index {
            draft.assume(format!(
                "coil over wire is {:.1}: outside 4 to 12 it is hard to wind, or buckles",
                figures.index
            ));
        }
        Ok(())
    }

    fn extension(
        &mut self,
        draft: &mut Draft,
        coil: &Coil,
        service: &SpringService,
    ) -> Result<(), ElementError> {
        let spring = extension(coil);
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
