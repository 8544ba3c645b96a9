//! Rod ends on their pins: size, load, tilt, and the smallest that does it.

use super::super::answers::Kind;
use super::super::say;
use super::super::study::{Draft, Study, strength};
use super::super::tires::Tiring;
use super::{ALTERNATES, THREADED_ROD};
use crate::answers::Severity;
use crate::load::service::JointService;
use elements::bearings::rod_ends;
use elements::threads::basic;
use machine::fitting::End as RodEnd;
use machine::model::Rod;

impl Study<'_> {
    /// Both ends have the same rod end, and the rod one thread.
    fn same_ends(&self, rod: &Rod) -> bool {
        let index = self.machine.rods.iter().position(|r| r.name == rod.name);
        let ends = index
            .and_then(|i| self.machine.work.rods.get(i))
            .and_then(|m| m.ends);
        rod.other.is_none()
            && ends.is_some_and(|[a, b]| a.rod_end.name == b.rod_end.name && a.male == b.male)
    }

    pub(super) fn rod_end(&mut self, rod: &Rod, n: usize, end: RodEnd, service: &JointService) {
        let machine = self.machine;
        let Some(&point) = rod.joins.get(n) else {
            return;
        };
        let sex = if end.male {
            "with stem"
        } else {
            "with tapped shank"
        };
        let what = format!("rod end {} {sex}", end.rod_end.name);
        let mut draft = Draft::new(
            Kind::RodEnd,
            what.clone(),
            format!("{} at {}", rod.name, self.point(point)),
            format!("rod.{}", rod.name),
            rod.place,
        );
        let left = if rod.both_ends && n == 1 {
            ", left-hand"
        } else {
            ""
        };
        self.buy(
            1,
            &format!("{what}{left}"),
            &format!("{} at {}", rod.name, self.point(point)),
        );
        let both = self.same_ends(rod);
        let place = if both {
            format!("{} at both ends", rod.name)
        } else {
            draft.item.at.clone()
        };
        // What is wrong with both ends alike is told once.
        if let Some(thread) = rod.thread_of(n).filter(|_| !both || n == 0)
            && ((thread.major - end.rod_end.major).abs() > 0.01
                || (thread.pitch - end.rod_end.pitch).abs() > 1e-6)
        {
            let shank = if end.rod_end.inch {
                end.rod_end.name.to_owned()
            } else {
                format!("M{}x{}", end.rod_end.bore, end.rod_end.pitch)
            };
            let sentence = format!(
                "{what}, {place}: its shank is {shank}, the thread of the rod {}",
                thread.name
            );
            self.say(
                Severity::Fault,
                &draft,
                sentence,
                Some(format!(
                    "write `thread = \"{shank}\"`, or take another rod end"
                )),
            );
        }
        if let Some(pin) = super::super::room::pin_diameter(machine, point)
            && !super::super::seats::same_size(pin, end.rod_end.bore)
        {
            let sentence = format!(
                "{what}, {}: its ball is bored {}, the pin is {}",
                draft.item.at,
                say::size(end.rod_end.bore, machine),
                say::size(pin, machine)
            );
            self.say(
                Severity::Fault,
                &draft,
                sentence,
                Some("make the pin the size of the ball, or take another rod end".into()),
            );
        }
        let tilt = service.tilt.get(n).cloned().unwrap_or_default();
        let force = service.most.value;
        let axial = force * tilt.value.sin();
        // Pushed and pulled in turn, it tires.
        let swings = service.pull.value.min(service.push.value) > ALTERNATES * force;
        let works = self
            .steel()
            .is_some_and(|m| self.tires_at(point, m) != Tiring::Still);
        let still = if swings {
            draft.assume(format!(
                "pulled and pushed in turn it bears {:.2} of its static rating (makers' handbooks)",
                rod_ends::TO_AND_FRO
            ));
            self.factor().max(1.0 / rod_ends::TO_AND_FRO)
        } else if works {
            draft.assume(format!(
                "loaded again and again it is given {:.2} of its static rating, as for loads to and fro (makers' handbooks; one way only it bears somewhat more)",
                rod_ends::TO_AND_FRO
            ));
            self.factor().max(1.0 / rod_ends::TO_AND_FRO)
        } else {
            self.factor()
        };
        let wants = [still, self.factor(), 1.0];
        let own = match end.rated {
            Some(load) => rod_ends::RodEnd {
                female: load,
                male: Some(load),
                ..*end.rod_end
            },
            None => *end.rod_end,
        };
        // The rod goes into the same thread.
        let bar = self
            .machine
            .rods
            .iter()
            .position(|r| r.name == rod.name)
            .and_then(|i| self.machine.work.rods.get(i)?.stock.as_ref())
            .and_then(|s| self.machine.work.materials.get(s.material))
            .and_then(strength)
            .unwrap_or(THREADED_ROD);
        let pull = service.pull.value.max(service.push.value).max(force);
        let wanted = self.factor();
        let rod_bears = |row: &rod_ends::RodEnd| {
            basic(row.major, row.pitch).is_ok_and(|b| pull * wanted <= bar * b.stress_area)
        };
        let passes = |row: &rod_ends::RodEnd| {
            rod_bears(row)
                && rod_ends::check(row, end.male, force, axial, tilt.value)
                    .is_ok_and(|all| all.iter().zip(wants).all(|(c, w)| c.passes(w)))
        };
        match rod_ends::check(&own, end.male, force, axial, tilt.value) {
            Ok(all) => {
                for (check, wanted) in all.iter().zip(wants) {
                    let peak = if check.unit == "rad" {
                        &tilt
                    } else {
                        &service.most
                    };
                    let checked = self.check(check, wanted, Some(peak));
                    draft.item.checks.push(checked);
                }
            }
            Err(error) => self.impossible(&draft, &error),
        }
        if end.rated.is_none() && rod_ends::estimated(end.rod_end) {
            draft.assume(format!(
                "its load, {}, is an estimate between the sizes beside it: no table has it",
                say::value(end.rod_end.female, "N", machine)
            ));
        }
        draft.assume(match (end.rated, end.rod_end.light) {
            (Some(_), _) => String::from("its load is the maker's, as given"),
            (None, Some(light)) => format!(
                "a steel body: the lowest that a maker prints for the size is {}; look yours up (`rod-end-load`)",
                say::value(light[usize::from(end.male)], "N", machine)
            ),
            (None, None) => String::from(
                "a steel body: moulded and die-cast ones bear a tenth of it; look yours up (`rod-end-load`)",
            ),
        });
        let best = end.rod_end.system().iter().find(|row| passes(row));
        draft.would_do(
            best.map(|r| format!("a rod end {}", r.name)),
            if end.rod_end.inch {
                "inch rod ends #10 to 3/4"
            } else {
                "rod ends M5 to M20 of series K"
            },
            best.is_some_and(|r| r.bore < end.rod_end.bore - 0.01),
        );
        if service.undetermined {
            draft.item.would_do = None;
            draft.assume("how its rod shares the load with joints that repeat it is not determined: its force is one way of many");
        }
        self.done(draft);
    }
}
