//! How long a bearing lasts under its loads, and what it bears at a standstill.

use super::super::room::room;
use super::super::say;
use super::super::seats::same_size;
use super::super::study::{Draft, Study};
use super::{Duty, WALL};
use crate::answers::Severity;
use crate::load::service::Turned;
use elements::bearings::life::{Load, equivalent, gamma, life_check, static_check, swing};
use elements::bearings::{Bearing, Kind as Balls, Rating, smallest};
use elements::{Check, ElementError, Source};
use machine::fitting::Hole;

/// Factor of the static rating in ordinary use (ISO 76).
const STILL: f64 = 1.0;
/// Balls of a small bearing where the catalogue does not say (common practice).
const BALLS: u32 = 8;
/// Speed of a deep groove ball bearing times its mean diameter at most, mm/min: open or shielded, and with rubbing seals (makers' tables, from
/// memory).
const FAST: [f64; 2] = [500_000.0, 350_000.0];

impl Study<'_> {
    pub(super) fn loads_of(&mut self, draft: &mut Draft, hole: &Hole, bearing: &Bearing) {
        let Some(duty) = self.duty(hole) else { return };
        if bearing.kind == Balls::Angular {
            let sentence = format!(
                "{}, {}: an angular contact bearing takes thrust one way only; it is used in pairs, and its ratings hang on the contact angle",
                draft.item.what, draft.item.at
            );
            self.say(Severity::Caution, draft, sentence, None);
        }
        let Some(rating) = &bearing.rating else {
            draft.assume("no ratings are known for it: load and life are not checked");
            return;
        };
        let checks = match self.rated(draft, rating, bearing, &duty) {
            Ok(checks) => checks,
            Err(error) => {
                self.impossible(draft, &error);
                return;
            }
        };
        for (check, wanted) in &checks {
            let checked = self.check(check, *wanted, Some(&duty.peak));
            draft.item.checks.push(checked);
        }
        self.ring_advice(draft, hole, rating, bearing, &duty);
        let around = room(self.machine, hole).around.unwrap_or(f64::INFINITY);
        let other = smallest(|b| {
            same_size(b.bore, bearing.bore)
                && b.kind == Balls::DeepGroove
                && b.outside * WALL <= around
                && b.rating.as_ref().is_some_and(|r| {
                    self.quiet(r, b, &duty)
                        .is_ok_and(|all| all.iter().all(|(c, w)| c.passes(*w)))
                })
        });
        let best = other.first();
        // Another bearing does not make its press fit lighter.
        if draft.instead.is_some() {
            return;
        }
        draft.would_do(
            best.map(|b| format!("a {}", b.name)),
            format!("bearings of {} bore", say::size(bearing.bore, self.machine)),
            best.is_some_and(|b| b.outside < bearing.outside - 0.01),
        );
    }

    /// All checks of a rating, and what is to be said of how it moves.
    fn rated(
        &mut self,
        draft: &mut Draft,
        rating: &Rating,
        bearing: &Bearing,
        duty: &Duty,
    ) -> Result<Vec<(Check, f64)>, ElementError> {
        let checks = self.quiet(rating, bearing, duty)?;
        if duty.turned.is_empty() && duty.peak.value > 0.0 {
            draft.assume("it does not turn in use: only its static load is checked");
        }
        for turned in &duty.turned {
            let drive = self
                .machine
                .drives
                .get(turned.drive)
                .map_or("", |d| &d.name);
            if self.per_minute(turned).is_none() {
                draft.assume(format!("{drive} has no `per-minute`: life is not checked"));
                continue;
            }
            if self.machine.work.usual.life_hours.is_none() {
                draft.assume("no `life-hours` are wanted: life is not judged");
            }
            let load = load(duty);
            let dynamic = equivalent(rating, load)?.dynamic;
            let (hours, how) = match turned.turns {
                Some(turns) => {
                    let rpm = turns * self.per_minute(turned).unwrap_or(0.0);
                    let life = elements::bearings::life::life(rating.dynamic, dynamic, rpm)?;
                    self.too_fast(draft, bearing, rpm);
                    (life.hours, format!("turning at {rpm:.0} rev/min"))
                }
                None => {
                    let swings =
                        swing_of(rating, bearing, dynamic, turned, self.per_minute(turned))?;
                    if swings.small && duty.peak.value > 0.0 {
                        let sentence = format!(
                            "{}, {}: it swings {:.0} degrees each way, less than the {:.0} that spread the grease: its balls wear dents (false brinelling), and its life is not judged",
                            draft.item.what,
                            draft.item.at,
                            turned.half.to_degrees(),
                            swings.overlap.to_degrees()
                        );
                        let try_this =
                            "a bushing; or grease it often and turn it right round now and then";
                        self.say(Severity::Caution, draft, sentence, Some(try_this.into()));
                        continue;
                    }
                    (
                        swings.hours,
                        format!("swinging {:.0} degrees each way", turned.half.to_degrees()),
                    )
                }
            };
            if hours.is_finite() {
                let text = format!(
                    "lasts {} {how} by {drive}, under a mean load of {} (cubic mean over the way)",
                    say::value(hours, "h", self.machine),
                    say::value(load.radial, "N", self.machine)
                );
                let origin = Source::of("ISO 281: L10 = (C/P)³ million turns");
                let figure = self.figure("life, 90 % reach it", hours, "h", origin, text);
                draft.item.figures.push(figure);
            }
        }
        Ok(checks)
    }

    /// A bearing that turns faster than its grease and seals bear.
    fn too_fast(&mut self, draft: &Draft, bearing: &Bearing, rpm: f64) {
        let sealed = draft.item.what.contains("RS");
        let most = FAST[usize::from(sealed)] / (0.5 * (bearing.bore + bearing.outside));
        if rpm <= most {
            return;
        }
        let sentence = format!(
            "{}, {}: it turns at {} rev/min, and about {} are the most for {} in grease (speed times mean diameter, makers' tables, from memory)",
            draft.item.what,
            draft.item.at,
            say::factor(rpm),
            say::factor((most / 100.0).floor() * 100.0),
            if sealed {
                "rubbing seals"
            } else {
                "open or shielded ones"
            }
        );
        let try_this = if sealed {
            "the same bearing with shields (ZZ) or open, or a smaller one"
        } else {
            "a smaller bearing, or oil; its maker's table tells"
        };
        self.say(Severity::Caution, draft, sentence, Some(try_this.into()));
    }

    fn quiet(
        &self,
        rating: &Rating,
        bearing: &Bearing,
        duty: &Duty,
    ) -> Result<Vec<(Check, f64)>, ElementError> {
        let greatest = Load {
            radial: duty.peak.value,
            axial: duty.axial.value,
        };
        let mut checks = vec![(static_check(rating, greatest)?, STILL)];
        let Some(wanted) = self.machine.work.usual.life_hours else {
            return Ok(checks);
        };
        for turned in &duty.turned {
            let Some(per_minute) = self.per_minute(turned) else {
                continue;
            };
            let load = load(duty);
            let check = match turned.turns {
                Some(turns) => life_check(rating, load, turns * per_minute, wanted)?,
                None => {
                    let dynamic = equivalent(rating, load)?.dynamic;
                    let swings = swing_of(rating, bearing, dynamic, turned, Some(per_minute))?;
                    if swings.small {
                        continue;
                    }
                    let mut check = life_check(rating, load, 1.0, wanted)?;
                    check.bears = swings.hours;
                    check
                }
            };
            checks.push((check, 1.0));
        }
        Ok(checks)
    }
}

fn load(duty: &Duty) -> Load {
    Load {
        radial: duty.share * duty.peak.value,
        axial: duty.share * duty.axial.value,
    }
}

fn swing_of(
    rating: &Rating,
    bearing: &Bearing,
    dynamic: f64,
    turned: &Turned,
    per_minute: Option<f64>,
) -> Result<elements::bearings::life::Swing, ElementError> {
    swing(
        rating.dynamic,
        dynamic,
        turned.half.clamp(1e-6, std::f64::consts::PI),
        per_minute.unwrap_or(0.0),
        BALLS,
        gamma(bearing.bore, bearing.outside)?,
    )
}
