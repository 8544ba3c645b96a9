//! How long a rod may be with its rod ends, how far a setting goes on its threads, what to saw off the bar.

use super::super::say;
use super::super::study::{Draft, Study};
use crate::answers::Severity;
use elements::threads::{metric, strip, unified};
use machine::fitting::End;
use machine::model::{Adjusts, Rod};
use machine::work::{Material, Section};
use quantity::Thread;

/// What a setting changes a rod's length by, mm, where none is given.
const NONE: [f64; 2] = [0.0; 2];

impl Study<'_> {
    /// Range of the setting of a rod, mm.
    fn set_by(&self, index: usize) -> [f64; 2] {
        let settings = self.machine.settings.iter();
        let mut own = settings.filter(|s| matches!(s.adjusts, Adjusts::Rod(r) if r == index));
        own.find_map(|s| s.range).unwrap_or(NONE)
    }

    /// "cut 86 mm, 140 mm between pins"; and whether it can be as long as that at all.
    pub(super) fn cut_to(&mut self, draft: &mut Draft, index: usize, rod: &Rod) -> String {
        let machine = self.machine;
        let size = |mm: f64| say::size((10.0 * mm).round() / 10.0, machine);
        let length = self.length(rod);
        let between = format!("{} between pins", size(length));
        let Some(made) = machine.work.rods.get(index) else {
            return between;
        };
        let Some(ends) = made.ends else {
            let section = made.stock.as_ref().map(|s| s.section);
            return match (section, &rod.thread) {
                (Some(Section::Flat([_, w]) | Section::Square(w)), None) => {
                    format!("cut {}, {between}", size(length + w))
                }
                _ => between,
            };
        };
        let [least, most] = self.set_by(index);
        let sum = |f: &dyn Fn(&End) -> f64| ends.iter().map(f).sum::<f64>();
        let near = sum(&|e| e.rod_end.from_bar(e.male)[0]);
        let far = sum(&|e| e.rod_end.from_bar(e.male)[1]);
        // Faces of tapped shanks meet; a stem may be sawn off to its own diameter of thread.
        let shortest = sum(&|e| {
            let [long, thread] = e.rod_end.lengths(e.male);
            if e.male {
                long - thread + e.rod_end.major
            } else {
                long
            }
        });
        let whole = sum(&|e| e.rod_end.lengths(e.male)[0]);
        if length + least < shortest - 1e-6 {
            let sentence = format!(
                "{}, {}: {} from pin to pin, and its rod ends alone are {}",
                draft.item.what,
                draft.item.at,
                size(length + least),
                size(shortest)
            );
            let try_this = format!(
                "{} between the pins or more, smaller rod ends, or flat bar with eyes",
                size(shortest.ceil())
            );
            self.say(Severity::Fault, draft, sentence, Some(try_this));
            return between;
        }
        if length + least < whole - 1e-6 {
            draft.assume("its stems meet in the bar: saw them off, and leave each its diameter of thread at least");
        }
        let gives = far - near;
        if most - least > gives + 1e-6 {
            let sentence = format!(
                "{}, {}: its setting goes {}, and the threads of its rod ends give {}: beyond, one comes out or is home",
                draft.item.what,
                draft.item.at,
                size(most - least),
                size(gives)
            );
            let try_this = format!(
                "a range of {} in all, or a turnbuckle with longer threads",
                size(gives.floor())
            );
            self.say(Severity::Fault, draft, sentence, Some(try_this));
            return between;
        }
        let middle = length + f64::midpoint(least, most);
        let bar = middle - f64::midpoint(near, far);
        let engaged = whole - f64::midpoint(near, far);
        if bar < engaged {
            return between;
        }
        draft.assume(format!(
            "cut {}: its rod ends stand half in, {} of thread together (lengths of series K, ISO 12240-4, or of the usual inch ones, from memory)",
            size(bar),
            size(engaged)
        ));
        format!("cut {}, {between}", size(bar))
    }

    /// Stems of rod ends in a bar that is tapped for them: the tapped thread must not strip.
    pub(super) fn stems_hold(
        &self,
        draft: &mut Draft,
        rod: &Rod,
        force: f64,
        bar: Option<&Material>,
    ) {
        let Some(tensile) = bar.and_then(|m| m.tensile) else {
            return;
        };
        let threads = rod.thread.iter().chain(&rod.other);
        let Some(thread) = threads.min_by(|a, b| a.major.total_cmp(&b.major)) else {
            return;
        };
        let engaged = thread.major;
        let Some(pair) = pair(thread, engaged) else {
            return;
        };
        if let Ok([_, nut]) = strip::checks(&pair, engaged, force, tensile, tensile) {
            let checked = self.check(&nut, self.factor(), None);
            draft.item.checks.push(checked);
            draft.assume(format!(
                "stems stand in the bar by {} of thread at least",
                say::size(engaged, self.machine)
            ));
        }
    }
}

fn pair(thread: &Thread, engaged: f64) -> Option<strip::Pair> {
    let limits = if thread.inch {
        unified::limits(thread.major, thread.pitch, engaged).ok()?
    } else {
        metric::limits(thread.major, thread.pitch).ok()?
    };
    Some(strip::Pair::of_limits(&limits, thread.pitch, None))
}
