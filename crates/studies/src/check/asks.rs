//! Is an ask kept, by how much, and where is it worst?

use super::borne::Bearing;
use super::remedy;
use crate::answers::{Borne, Finding, Held, Judged, Severity};
use crate::assemble::Stand;
use crate::refusal::Refusal;
use crate::run::{Bench, Here, Local, Read, Span, Track, places, stationary};
use crate::say;
use machine::model::{Ask, Judges};
use std::rc::Rc;

/// A judged value: the sum of a reading at some poses, each with its weight, so that its derivatives are those of the reading.
#[derive(Clone, Debug)]
pub(crate) struct Verdict {
    pub(crate) value: f64,
    pub(crate) terms: Vec<(f64, Here)>,
    /// Drives by which the place is told.
    pub(crate) told: Vec<(usize, f64)>,
}

/// Least and greatest value wanted.
pub(crate) type Wanted = [Option<f64>; 2];

/// Judges one ask: the answer and its finding.
pub(super) fn judge(
    bench: &mut Bench<'_>,
    bearing: &Bearing<'_, '_>,
    ask: usize,
) -> (Judged, Finding) {
    let model = bench.model;
    let a = &model.machine.asks[ask];
    let wanted = wanted(a);
    let reading = model.reading(a.reading);
    let stand = stand(bench, a, &model.drawn().settings);
    let verdict = weigh(bench, ask, &stand);
    let about = format!("ask.{}", a.name);
    let mut finding = Finding {
        severity: Severity::Fault,
        sentence: String::new(),
        number: None,
        margin: None,
        inside: Some(reading.inside),
        what_to_try: None,
        about,
        place: a.place,
    };
    let mut judged = Judged {
        ask: a.name.clone(),
        reading: reading.clone(),
        kept: false,
        value: None,
        at_least: wanted[0],
        at_most: wanted[1],
        margin: None,
        at: Vec::new(),
        borne: Vec::new(),
    };
    match verdict {
        Err(refusal) => {
            finding.sentence = format!("ask {} cannot be judged: {}", a.name, refusal.message);
            finding.what_to_try = (!refusal.help.is_empty()).then_some(refusal.help);
        }
        Ok(verdict) => {
            let margin = margin(verdict.value, wanted);
            judged.value = Some(verdict.value);
            judged.margin = Some(margin);
            judged.at = held(bench, &verdict);
            judged.borne = bearing.bear(bench, a, &verdict, wanted);
            let loaded = judged.borne.iter().all(Borne::met_loaded);
            let band = judged.borne.iter().all(Borne::met_band);
            judged.kept = margin >= 0.0 && loaded;
            finding.severity = match (judged.kept, band) {
                (true, true) => Severity::Kept,
                (true, false) => Severity::Caution,
                (false, _) => Severity::Miss,
            };
            finding.number = Some(verdict.value);
            finding.margin = Some(margin);
            finding.sentence = sentence(bench, a, &verdict, margin) + &borne_words(&judged);
            if margin < 0.0 {
                let gives = judged.borne.iter();
                let gives: Vec<f64> = gives
                    .filter_map(|b| Some(b.loaded? - verdict.value))
                    .collect();
                finding.what_to_try = match (under_load(wanted, &gives), wanted) {
                    ([Some(low), Some(high)], [Some(least), Some(most)]) if low > high => {
                        Some(format!(
                            "no setting or length brings it in: loads move it by {}, and it may lie within {}; stiffen what gives most, `load` says which",
                            say::of(&judged.reading, (most - least) + (low - high)),
                            say::of(&judged.reading, most - least)
                        ))
                    }
                    (within, _) => remedy::what_to_try(bench, ask, &stand, &verdict, within),
                };
            } else if !loaded {
                finding.what_to_try = Some(String::from(
                    "set it under load, or stiffen what gives most: `load` says which",
                ));
            } else if !band {
                finding.what_to_try = Some(String::from(
                    "hold the dimensions that `spread` names, take up the play that `load` names, or set the machine when it is built",
                ));
            }
        }
    }
    (judged, finding)
}

pub(crate) fn wanted(ask: &Ask) -> Wanted {
    [
        ask.at_least.as_ref().map(|w| w.value),
        ask.at_most.as_ref().map(|w| w.value),
    ]
}

/// What a value without load must keep so that it keeps its limits with each of these added too.
pub(crate) fn under_load([least, most]: Wanted, added: &[f64]) -> Wanted {
    let low = added.iter().copied().fold(0.0, f64::min);
    let high = added.iter().copied().fold(0.0, f64::max);
    [least.map(|l| l - low), most.map(|m| m - high)]
}

/// Distance to the nearer limit, negative beyond it. A value within rounding of its limit keeps it.
pub(crate) fn margin(value: f64, [least, most]: Wanted) -> f64 {
    let low = least.map_or(f64::INFINITY, |l| value - l);
    let high = most.map_or(f64::INFINITY, |m| m - value);
    let margin = low.min(high);
    let rounding = 1e-12 * value.abs().max(1.0);
    if margin < 0.0 && margin > -rounding {
        0.0
    } else {
        margin
    }
}

/// Drives as the ask says, the others as drawn; settings as given.
pub(crate) fn stand(bench: &Bench<'_>, ask: &Ask, settings: &[f64]) -> Stand {
    let mut stand = bench.model.drawn();
    stand.settings = settings.to_vec();
    let (Judges::At { when }
    | Judges::Anywhere { when, .. }
    | Judges::Swing { when, .. }
    | Judges::Per { when, .. }) = &ask.judges;
    for &(drive, value) in when {
        stand.put(drive, value);
    }
    stand
}

/// Works out the judged value with these drives and settings.
pub(crate) fn weigh(bench: &mut Bench<'_>, ask: usize, stand: &Stand) -> Result<Verdict, Refusal> {
    let model = bench.model;
    let a = &model.machine.asks[ask];
    let here = bench.bring(stand)?;
    let r = a.reading;
    let none = || {
        Refusal::new(
            format!("{} cannot be taken there", model.machine.readings[r].name),
            "",
        )
    };
    match a.judges {
        Judges::At { ref when } => {
            let value = bench.value(r, &here).ok_or_else(none)?;
            Ok(Verdict {
                value,
                terms: vec![(1.0, here)],
                told: when.clone(),
            })
        }
        Judges::Anywhere { drive, .. } => {
            let mut worst: Option<Verdict> = None;
            for (greatest, limit) in wanted(a).iter().enumerate() {
                if limit.is_none() {
                    continue;
                }
                let extreme = bench
                    .extreme(r, &here, drive, greatest == 1)
                    .ok_or_else(none)?;
                let value = bench.value(r, &extreme.here).ok_or_else(none)?;
                let nearer = |w: &Verdict| margin(value, wanted(a)) < margin(w.value, wanted(a));
                if worst.as_ref().is_none_or(nearer) {
                    worst = Some(Verdict {
                        value,
                        terms: vec![(1.0, extreme.here)],
                        told: vec![(drive, extreme.at)],
                    });
                }
            }
            let mut worst = worst.ok_or_else(none)?;
            // A reading that the drive does not change has no place where it is worst. One that is worst where it is drawn has.
            let same = 1e-11 * model.mechanism.size(&here.params);
            let mut ends = vec![here.clone()];
            for greatest in [false, true] {
                ends.push(
                    bench
                        .extreme(r, &here, drive, greatest)
                        .ok_or_else(none)?
                        .here,
                );
            }
            let mut still = true;
            for end in &ends {
                let value = bench.value(r, end).ok_or_else(none)?;
                still &= (value - worst.value).abs() <= same;
            }
            if still {
                worst.told.clear();
            }
            Ok(worst)
        }
        Judges::Swing { drive, .. } => {
            let least = bench.extreme(r, &here, drive, false).ok_or_else(none)?;
            let most = bench.extreme(r, &here, drive, true).ok_or_else(none)?;
            let low = bench.value(r, &least.here).ok_or_else(none)?;
            let high = bench.value(r, &most.here).ok_or_else(none)?;
            Ok(Verdict {
                value: high - low,
                terms: vec![(1.0, most.here), (-1.0, least.here)],
                told: Vec::new(),
            })
        }
        Judges::Per { drive, amount, .. } => {
            if !bench.depends(r, drive) {
                return Ok(Verdict {
                    value: 0.0,
                    terms: Vec::new(),
                    told: Vec::new(),
                });
            }
            let (track, span) = bench.span(&here, drive).ok_or_else(none)?;
            Steepest::new(bench, r, track, span, &here, amount.abs())
                .and_then(Steepest::find)
                .ok_or_else(none)
        }
    }
}

/// The greatest change of a reading for an amount of a drive.
struct Steepest<'b, 'm> {
    bench: &'b mut Bench<'m>,
    reading: usize,
    track: Rc<Track>,
    span: Span,
    there: Here,
    amount: f64,
    /// Place, value and slope at the samples.
    known: Vec<(f64, f64, f64)>,
}

impl<'b, 'm> Steepest<'b, 'm> {
    fn new(
        bench: &'b mut Bench<'m>,
        reading: usize,
        track: Rc<Track>,
        span: Span,
        here: &Here,
        amount: f64,
    ) -> Option<Self> {
        let mut there = here.clone();
        let mut known = Vec::new();
        for place in places(&track, &span) {
            let at = place.at(&track);
            let read = bench.slope_on(reading, &track, at, &mut there)?;
            // A dead centre at an end has no slope; the neighbour's chord stands in for finding the place only.
            known.push((at, read.value, read.slope.unwrap_or(f64::NAN)));
        }
        for i in 0..known.len() {
            if known[i].2.is_nan() {
                let j = if i == 0 { 1 } else { i - 1 };
                if let Some(&(x, v, _)) = known.get(j) {
                    known[i].2 = (known[i].1 - v) / (known[i].0 - x);
                }
            }
        }
        Some(Self {
            bench,
            reading,
            track,
            span,
            there,
            amount,
            known,
        })
    }

    /// The reading by the cubic through values and slopes of the two samples around a place (Hermite): near enough to find
    /// where the change is greatest, which is then worked out exactly.
    fn guess(&self, x: f64) -> f64 {
        let after = self
            .known
            .partition_point(|k| k.0 < x)
            .clamp(1, self.known.len().saturating_sub(1).max(1));
        let (Some(&(a, va, sa)), Some(&(b, vb, sb))) =
            (self.known.get(after - 1), self.known.get(after))
        else {
            return self.known.first().map_or(f64::NAN, |k| k.1);
        };
        let (h, t) = (b - a, (x - a) / (b - a));
        let (t2, t3) = (t * t, t * t * t);
        va * (2.0 * t3 - 3.0 * t2 + 1.0)
            + h * sa * (t3 - 2.0 * t2 + t)
            + vb * (3.0 * t2 - 2.0 * t3)
            + h * sb * (t3 - t2)
    }

    /// A whole turn goes on into the next: the place there, and what the reading has gained by then.
    fn folded(&self, x: f64) -> (f64, f64) {
        if self.span.round && x > self.span.high.at {
            let gained = self
                .known
                .last()
                .zip(self.known.first())
                .map_or(0.0, |(l, f)| l.1 - f.1);
            (x - (self.span.high.at - self.span.low.at), gained)
        } else {
            (x.min(self.span.high.at), 0.0)
        }
    }

    fn exact(&mut self, x: f64) -> Option<(Local, Here, Here)> {
        let (y, gained) = self.folded(x + self.amount);
        let start: Read = self
            .bench
            .slope_on(self.reading, &self.track, x, &mut self.there)?;
        let first = self.there.clone();
        let end = self
            .bench
            .slope_on(self.reading, &self.track, y, &mut self.there)?;
        let slope = end.slope.zip(start.slope).map(|(e, s)| e - s);
        let bend = end.bend.zip(start.bend).map(|(e, s)| e - s);
        let value = end.value + gained - start.value;
        Some((Local { value, slope, bend }, first, self.there.clone()))
    }

    fn find(mut self) -> Option<Verdict> {
        let low = self.span.low.at;
        let high = if self.span.round {
            self.span.high.at
        } else {
            (self.span.high.at - self.amount).max(low)
        };
        let n = 4 * self.known.len().max(2);
        let width = (high - low) / n as f64;
        let mut best = (0.0_f64, low);
        for i in 0..=n {
            let x = low + width * i as f64;
            let (y, gained) = self.folded(x + self.amount);
            let change = (self.guess(y) + gained - self.guess(x)).abs();
            if change > best.0 {
                best = (change, x);
            }
        }
        let mut at = best.1;
        let (a, b) = ((at - width).max(low), (at + width).min(high));
        if b > a {
            let (from, to) = (self.exact(a)?.0, self.exact(b)?.0);
            let middle = self.exact(at)?.0;
            let ends = [(a, from), (b, to), (at, middle)];
            if let (Some(s), Some(t)) = (from.slope, to.slope)
                && (s > 0.0) != (t > 0.0)
                && let Some((x, _)) =
                    stationary((a, s), (b, t), Some(at), |x| self.exact(x).map(|e| e.0))
            {
                at = x;
            } else if let Some(end) = ends
                .iter()
                .max_by(|p, q| p.1.value.abs().total_cmp(&q.1.value.abs()))
            {
                at = end.0;
            }
        }
        let (change, start, end) = self.exact(at)?;
        let sign = if change.value < 0.0 { -1.0 } else { 1.0 };
        Some(Verdict {
            value: change.value.abs(),
            terms: vec![(sign, end), (-sign, start)],
            told: vec![(self.track.drive, at)],
        })
    }
}

fn held(bench: &Bench<'_>, verdict: &Verdict) -> Vec<Held> {
    let model = bench.model;
    let hold = |&(drive, value): &(usize, f64)| Held {
        quantity: model.drive(drive),
        value,
        as_drawn: value == model.machine.drives[drive].drawn,
    };
    verdict.told.iter().map(hold).collect()
}

/// "; under embossing 0.237 mm, 0.087 mm to spare; play and making let it lie from 0.124 mm to 0.452 mm, 0.102 mm too much".
pub(super) fn borne_words(judged: &Judged) -> String {
    let wanted = [judged.at_least, judged.at_most];
    let show = |v: f64| say::of(&judged.reading, v);
    let words = judged.borne.iter().map(|borne| {
        let loaded = borne
            .loaded
            .zip(borne.margin_loaded)
            .map(|(value, margin)| {
                let spare = spare(&judged.reading, value, margin, wanted);
                format!("; {} {}{spare}", borne.under(), show(value))
            });
        loaded.unwrap_or_default() + &band_words(judged, borne)
    });
    words.collect()
}

/// "; play and making let it lie from 0.124 mm to 0.452 mm, 0.102 mm too much".
pub(super) fn band_words(judged: &Judged, borne: &Borne) -> String {
    let wanted = [judged.at_least, judged.at_most];
    let show = |v: f64| say::of(&judged.reading, v);
    let worse = if margin(borne.from, wanted) < margin(borne.to, wanted) {
        borne.from
    } else {
        borne.to
    };
    let unloaded = if borne.loaded.is_some() {
        ""
    } else {
        " without load"
    };
    format!(
        "; play and making let it lie from {} to {}{unloaded}{}",
        show(borne.from),
        show(borne.to),
        spare(&judged.reading, worse, borne.margin_band, wanted)
    )
}

/// ", 0.066 mm to spare", ", 0.1 mm too much".
pub(super) fn spare(
    quantity: &crate::answers::Quantity,
    value: f64,
    margin: f64,
    wanted: Wanted,
) -> String {
    let by = say::of(quantity, margin.abs());
    if !margin.is_finite() {
        String::new()
    } else if margin >= 0.0 {
        format!(", {by} to spare")
    } else if wanted[0].is_some_and(|l| value < l) {
        format!(", {by} too little")
    } else {
        format!(", {by} too much")
    }
}

fn sentence(bench: &Bench<'_>, ask: &Ask, verdict: &Verdict, margin: f64) -> String {
    let model = bench.model;
    let q = model.reading(ask.reading);
    let (name, value) = (&q.name, say::of(&q, verdict.value));
    let places: Vec<String> = verdict
        .told
        .iter()
        .map(|&(d, v)| say::at(&model.drive(d), v))
        .collect();
    let place = places.join(", ");
    let drive_name = |d: usize| &model.machine.drives[d].name;
    let what = match &ask.judges {
        Judges::At { .. } if place.is_empty() => format!("{name} is {value} as drawn"),
        Judges::At { .. } => format!("{name} is {value} at {place}"),
        Judges::Anywhere { drive, .. } if place.is_empty() => {
            format!(
                "{name} is {value} all over the reach of {}",
                drive_name(*drive)
            )
        }
        Judges::Anywhere { drive, .. } => {
            format!(
                "{name} is at worst {value} over the reach of {}, at {place}",
                drive_name(*drive)
            )
        }
        Judges::Swing { drive, .. } => format!(
            "{name} changes by {value} over the reach of {}",
            drive_name(*drive)
        ),
        Judges::Per { drive, amount, .. } => {
            let amount = say::short(*amount, model.machine.drives[*drive].unit);
            let near = if place.is_empty() {
                String::new()
            } else {
                format!(", near {place}")
            };
            format!(
                "{name} changes by up to {value} for {amount} of {}{near}",
                drive_name(*drive)
            )
        }
    };
    let wanted = match (&ask.at_least, &ask.at_most) {
        (Some(l), Some(m)) => format!("wanted {} to {}", l.show(), m.show()),
        (Some(l), None) => format!("wanted at least {}", l.show()),
        (None, Some(m)) => format!("wanted at most {}", m.show()),
        (None, None) => String::from("nothing is wanted of it"),
    };
    let how = spare(&q, verdict.value, margin, self::wanted(ask));
    format!("{}: {what}, {wanted}{how}", ask.name)
}
