//! What the shop has to make a hole with: tap drills and taps, reamers, boring bars.

use super::say;
use super::study::{Draft, Study, source};
use crate::answers::Severity;
use elements::drills;
use elements::threads::{made, metric, tap};
use machine::equipment::Shop;
use machine::fitting::{Cut, Sized};
use quantity::Thread;

/// Metric drills up to this size come in tenths, mm.
const DRILLS: f64 = 25.0;

/// Drills by name and diameter: those of the shop when its file lists any, else full sets. The flag tells which.
fn known(shop: Option<&Shop>, inch: bool) -> (Vec<(String, f64)>, bool) {
    let own = shop.map_or(&[][..], |s| &s.tools.drills);
    if !own.is_empty() {
        let all = own.iter().map(|d| (d.name.clone(), d.diameter)).collect();
        return (all, true);
    }
    let mut all = if inch {
        let mut all = drills::numbers();
        all.extend(drills::letters());
        all.extend(drills::fractions(1));
        all
    } else {
        // The sets of a shop go by tenths.
        let tenths =
            |d: &drills::Drill| (10.0 * d.diameter - (10.0 * d.diameter).round()).abs() < 1e-6;
        drills::metric(DRILLS).into_iter().filter(tenths).collect()
    };
    all.sort_by(|a, b| a.diameter.total_cmp(&b.diameter));
    let unit = if inch { "" } else { " mm" };
    let all = all.into_iter();
    let all = all.map(|d| (format!("{}{unit}", d.name), d.diameter));
    (all.collect(), false)
}

impl Study<'_> {
    /// A thread for which no tap or die is sold, unless the shop has it.
    pub(super) fn unmade(&mut self, draft: &Draft, thread: &Thread) {
        let shop = self.machine.work.shop.as_ref();
        let own = shop.is_some_and(|s| {
            s.tools.taps.iter().any(|t| {
                (t.major - thread.major).abs() < 1e-6 && (t.pitch - thread.pitch).abs() < 1e-6
            })
        });
        if own || made::sold(thread.major, thread.pitch, thread.inch) {
            return;
        }
        let named: Vec<String> = made::near(thread.major, thread.inch)
            .iter()
            .map(|(d, p)| {
                if thread.inch {
                    format!("{}-{:.0}", say::size(*d, self.machine), 25.4 / p)
                } else {
                    format!("M{d}x{p}")
                }
            })
            .collect();
        let sentence = format!(
            "{}, {}: no tap or die {} is sold ({})",
            draft.item.what,
            draft.item.at,
            thread.name,
            source(made::SOURCE)
        );
        let try_this = format!(
            "{}; or cut it on the lathe, to a gauge of your own",
            named.join(", ")
        );
        self.say(Severity::Caution, draft, sentence, Some(try_this));
    }

    /// The drill for a tapped hole and the thread it leaves; whether the shop has it, and the tap.
    pub(super) fn tap_drill(
        &mut self,
        draft: &mut Draft,
        thread: &Thread,
        limits: Option<&metric::ThreadLimits>,
    ) {
        let shop = self.machine.work.shop.as_ref();
        let (known, own) = known(shop, thread.inch);
        let sizes: Vec<f64> = known.iter().map(|d| d.1).collect();
        let (major, pitch) = (thread.major, thread.pitch);
        let best = tap::usual(major, pitch, &sizes, limits);
        let (what, at) = (draft.item.what.clone(), draft.item.at.clone());
        if let Some((best, (name, _))) = best.and_then(|t| Some((t, known.get(t.index)?))) {
            let of = if own { " of your shop" } else { "" };
            let text = format!(
                "tap drill {name}{of}: {:.0} % of thread",
                best.engagement.handbook
            );
            draft
                .item
                .figures
                .push(self.figure("tap drill", best.drill, "mm", tap::SOURCE, text));
            if !own {
                draft.assume(format!(
                    "tap drill from full sets of drills; {}",
                    source(tap::SOURCE)
                ));
            }
            if let (Some(false), Some(limits)) = (best.in_limits, limits) {
                let sentence = format!(
                    "{what}, {at}: {name} is the nearest drill{of}, outside the {} to {} that the class allows",
                    say::close_bare(limits.nut_minor.least(), self.machine),
                    say::close(limits.nut_minor.most(), self.machine)
                );
                let try_this = format!(
                    "it holds with {:.0} % of thread; a gauge may refuse it",
                    best.engagement.handbook
                );
                self.say(Severity::Note, draft, sentence, Some(try_this));
            }
        } else if own {
            let percent = |d: f64| tap::engagement(major, pitch, d).ok().map(|e| e.handbook);
            let near = known
                .iter()
                .filter_map(|(name, d)| Some((name, percent(*d)?)))
                .min_by(|a, b| {
                    let off = |p: f64| (p - tap::USUAL.1).abs();
                    off(a.1).total_cmp(&off(b.1))
                });
            let nearest = match near {
                Some((name, p)) if p <= 110.0 => {
                    format!(": the nearest, {name}, would leave {p:.0} %")
                }
                _ => String::new(),
            };
            let sentence = format!(
                "{what}, {at}: no drill of the shop file leaves {:.0} to {:.0} % of thread{nearest}",
                tap::USUAL.0,
                tap::USUAL.2
            );
            let (full, _) = known_sets(thread.inch);
            let sizes: Vec<f64> = full.iter().map(|d| d.1).collect();
            let buy = tap::usual(major, pitch, &sizes, limits).and_then(|t| full.get(t.index));
            let try_this = buy.map(|(name, _)| format!("buy drill {name}"));
            self.say(Severity::Caution, draft, sentence, try_this);
        }
        let taps = shop.map_or(&[][..], |s| &s.tools.taps);
        let same = |t: &Thread| (t.major - major).abs() < 1e-6 && (t.pitch - pitch).abs() < 1e-6;
        if !taps.is_empty() && !taps.iter().any(same) {
            let near = taps
                .iter()
                .min_by(|a, b| (a.major - major).abs().total_cmp(&(b.major - major).abs()))
                .map_or_else(String::new, |t| {
                    format!(", or take {} if the screw may be another", t.name)
                });
            let sentence = format!("{what}, {at}: the shop file lists no tap {}", thread.name);
            self.say(
                Severity::Caution,
                draft,
                sentence,
                Some(format!("buy the tap{near}")),
            );
        }
    }

    /// Whether the shop has what a plain hole of this size is made with.
    pub(super) fn makes(&mut self, draft: &Draft, cut: Cut, size: &Sized) {
        let Some(shop) = &self.machine.work.shop else {
            return;
        };
        let tools = &shop.tools;
        // A shop file without tools tells nothing of them.
        if tools.drills.is_empty() && tools.reamers.is_empty() {
            return;
        }
        let mm = |x: f64| say::size(x, self.machine);
        let reach: Vec<[f64; 2]> = [tools.boring, tools.boring_head]
            .into_iter()
            .flatten()
            .collect();
        let bores = reach
            .iter()
            .any(|[low, high]| (*low..=*high).contains(&size.nominal));
        // A reamer whose holes stay within the limits that are wanted.
        let serves = |r: &&Sized| {
            r.limits.least() >= size.limits.least() - 1e-6
                && r.limits.most() <= size.limits.most() + 1e-6
        };
        let named = format!("{} {}", mm(size.nominal), size.class);
        let (sentence, try_this) = match cut {
            Cut::Ream if !tools.reamers.iter().any(|r| serves(&r)) => {
                let near = tools.reamers.iter().min_by(|a, b| {
                    let off = |r: &Sized| (r.nominal - size.nominal).abs();
                    off(a).total_cmp(&off(b))
                });
                let near = near.map_or_else(String::new, |r| {
                    format!("; or make hole and pin {} {}", mm(r.nominal), r.class)
                });
                let way = if bores {
                    "bore it to size instead, or buy the reamer"
                } else {
                    "buy the reamer"
                };
                (
                    format!("the shop file lists no reamer {named}"),
                    format!("{way}{near}"),
                )
            }
            Cut::Bore if !bores && !tools.reamers.iter().any(|r| serves(&r)) => {
                let reaches = reach
                    .iter()
                    .map(|[low, high]| format!("{} to {}", mm(*low), mm(*high)))
                    .collect::<Vec<_>>()
                    .join(" and ");
                let sentence = if reach.is_empty() {
                    format!("nothing in the shop file bores {named}")
                } else {
                    format!("nothing in the shop file bores {named}: its tools reach {reaches}")
                };
                (
                    sentence,
                    String::from("ream it if a reamer can be had, or have it bored"),
                )
            }
            _ => return,
        };
        let sentence = format!("{}, {}: {sentence}", draft.item.what, draft.item.at);
        self.say(Severity::Caution, draft, sentence, Some(try_this));
    }
}

/// Full sets of drills, whatever the shop has.
fn known_sets(inch: bool) -> (Vec<(String, f64)>, bool) {
    known(None, inch)
}
