//! Readings and their rates, those over another drive among them.

use crate::assemble::{Gauge, Rule};
use crate::run::extreme::{Local, extremes, stationary};
use crate::run::track::{Track, near};
use crate::run::{Bench, Here, Span};
use machine::model::Take;
use mechanics::model::Measure;
use mechanics::{Rates, Tangent, measure_along, unit_direction};
use std::rc::Rc;

/// A reading in one pose.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Read {
    /// Value, mm or rad.
    pub(crate) value: f64,
    /// Derivative by the drive asked for; none at a dead centre.
    pub(crate) slope: Option<f64>,
    /// Second derivative, where it comes for nothing.
    pub(crate) bend: Option<f64>,
    /// For a reading over a drive: where it was taken (for a swing, where least).
    pub(crate) taken_at: Option<f64>,
    /// For a swing: where greatest.
    pub(crate) and_at: Option<f64>,
}

impl From<Read> for Local {
    fn from(read: Read) -> Self {
        Self {
            value: read.value,
            slope: read.slope,
            bend: read.bend,
        }
    }
}

/// The least or greatest value over a path.
#[derive(Clone, Debug)]
pub(crate) struct Extreme {
    pub(crate) at: f64,
    /// The machine there.
    pub(crate) here: Here,
    /// The limit that ends the path there, if it is taken at such an end.
    pub(crate) limit: Option<usize>,
}

/// A drive and, when known already, the rates of all bodies by its value.
#[derive(Clone, Copy)]
pub(crate) struct By<'r> {
    pub(crate) drive: usize,
    pub(crate) rates: Option<&'r Rates>,
}

impl Bench<'_> {
    /// Direction in which a drive's value moves the parameters.
    pub(crate) fn direction(&self, drive: usize) -> Vec<f64> {
        let param = self.model.drives[drive].0;
        let mut direction = unit_direction(self.model.mechanism.params.len(), param);
        direction[param] = self.model.machine.drives[drive].sense;
        direction
    }

    /// Rates of all bodies by a drive's value, here; none at a dead centre.
    pub(crate) fn rates(&self, here: &Here, drive: usize) -> Option<Rates> {
        let model = self.model;
        let param = model.drives[drive].0;
        let group = model.groups.iter().find(|g| g.uses[param])?;
        let poses: Vec<_> = group.bodies.iter().map(|&b| here.poses[b]).collect();
        let tangent = Tangent::new(&group.mechanism, &here.params, &poses).ok()?;
        if tangent.must_agree().ok()?.get(param) == Some(&true) {
            return None;
        }
        let own = tangent.rates(&self.direction(drive)).ok()?;
        Some(self.spread(&group.bodies, &own))
    }

    /// Rates of a group as rates of all bodies; the others stand still.
    pub(crate) fn spread(&self, bodies: &[usize], own: &Rates) -> Rates {
        let mut all = Rates {
            first: vec![[0.0; 3]; self.model.mechanism.bodies.len()],
            second: Vec::new(),
        };
        all.second.clone_from(&all.first);
        for (i, &b) in bodies.iter().enumerate() {
            all.first[b] = own.first[i];
            all.second[b] = own.second[i];
        }
        all
    }

    /// The value alone; `None` where it cannot be taken.
    pub(crate) fn value(&mut self, reading: usize, here: &Here) -> Option<f64> {
        self.read(reading, here, None).map(|r| r.value)
    }

    /// A reading here, with its rate by a drive.
    pub(crate) fn read(&mut self, reading: usize, here: &Here, by: Option<By<'_>>) -> Option<Read> {
        let model = self.model;
        match model.gauges.get(reading)? {
            Gauge::Pose(measure) => Some(self.gauge(measure, here, by)),
            Gauge::Over {
                reading: inner,
                drive,
                take,
            } => {
                let (inner, drive) = (*inner, *drive);
                let end = |bench: &mut Self, greatest: bool| {
                    let extreme = bench.extreme(inner, here, drive, greatest)?;
                    let read = bench.at_extreme(inner, drive, &extreme, by)?;
                    Some((extreme.at, read))
                };
                match take {
                    Take::Least | Take::Greatest => {
                        let (at, read) = end(self, *take == Take::Greatest)?;
                        Some(Read {
                            taken_at: Some(at),
                            bend: None,
                            ..read
                        })
                    }
                    Take::Swing => {
                        let (at, least) = end(self, false)?;
                        let (and_at, most) = end(self, true)?;
                        let slope = most.slope.zip(least.slope).map(|(m, l)| m - l);
                        Some(Read {
                            value: most.value - least.value,
                            slope,
                            bend: None,
                            taken_at: Some(at),
                            and_at: Some(and_at),
                        })
                    }
                }
            }
        }
    }

    fn gauge(&self, measure: &Measure, here: &Here, by: Option<By<'_>>) -> Read {
        let m = &self.model.mechanism;
        let still = |value: f64| Read {
            value,
            slope: None,
            bend: None,
            taken_at: None,
            and_at: None,
        };
        let Some(by) = by else {
            return still(m.measure(&here.params, &here.poses, measure));
        };
        let worked_out;
        let rates = if by.rates.is_some() {
            by.rates
        } else {
            worked_out = self.rates(here, by.drive);
            worked_out.as_ref()
        };
        let Some(rates) = rates else {
            return still(m.measure(&here.params, &here.poses, measure));
        };
        let [value, slope, bend] = measure_along(
            m,
            &here.params,
            &here.poses,
            measure,
            &self.direction(by.drive),
            rates,
        );
        Read {
            value,
            slope: Some(slope),
            bend: Some(bend),
            taken_at: None,
            and_at: None,
        }
    }

    /// The inner reading where it is extreme. Its rate by another drive is the partial one (envelope theorem), and where a stop
    /// or slot end cuts the path, that end moves along.
    pub(crate) fn at_extreme(
        &mut self,
        inner: usize,
        over: usize,
        extreme: &Extreme,
        by: Option<By<'_>>,
    ) -> Option<Read> {
        let Some(by) = by else {
            return self.read(inner, &extreme.here, None);
        };
        if by.drive == over {
            // The reading runs over the very drive it is asked by: it does not change with it.
            let read = self.read(inner, &extreme.here, None)?;
            return Some(Read {
                slope: Some(0.0),
                ..read
            });
        }
        let apart = self.group_of_drive(by.drive) != self.group_of_drive(over);
        let by = By {
            drive: by.drive,
            rates: by.rates.filter(|_| apart),
        };
        let mut read = self.read(inner, &extreme.here, Some(by))?;
        if let Some(limit) = extreme.limit {
            let end_moves = self.end_moves(limit, over, by, &extreme.here);
            let along = self
                .read(
                    inner,
                    &extreme.here,
                    Some(By {
                        drive: over,
                        rates: None,
                    }),
                )?
                .slope;
            read.slope = read
                .slope
                .zip(end_moves)
                .zip(along)
                .map(|((s, e), a)| s + a * e);
        }
        Some(read)
    }

    /// How the place of a limit on the path of `over` moves with another drive.
    fn end_moves(&self, limit: usize, over: usize, by: By<'_>, here: &Here) -> Option<f64> {
        let measure = self.limit_measure(limit)?;
        let with_end = self
            .gauge(
                &measure,
                here,
                Some(By {
                    drive: over,
                    rates: None,
                }),
            )
            .slope?;
        let with_by = self.gauge(&measure, here, Some(by)).slope?;
        (with_end != 0.0).then(|| -with_by / with_end)
    }

    /// What a limit measures, when that is a measure of the mechanics.
    pub(crate) fn limit_measure(&self, limit: usize) -> Option<Measure> {
        match &self.model.limits.get(limit)?.rule {
            Rule::Stop { stop, .. } => match self
                .model
                .gauges
                .get(self.model.machine.stops[*stop].reading)?
            {
                Gauge::Pose(measure) => Some(*measure),
                Gauge::Over { .. } => None,
            },
            // Nothing at the end, however long the slot is made.
            Rule::Straight {
                second: true,
                along:
                    Measure::AlongBody {
                        b: pin,
                        body,
                        plane,
                        direction,
                        ..
                    },
                ends,
                ..
            } => Some(Measure::AlongBody {
                a: *pin,
                b: ends[1],
                body: *body,
                plane: *plane,
                direction: *direction,
            }),
            Rule::Straight { along, .. } => Some(*along),
            Rule::Arc { .. } => None,
        }
    }

    pub(crate) fn group_of_drive(&self, drive: usize) -> Option<usize> {
        let param = self.model.drives.get(drive)?.0;
        self.model.groups.iter().position(|g| g.uses[param])
    }

    /// A reading depends on what a drive moves.
    pub(crate) fn depends(&self, reading: usize, drive: usize) -> bool {
        let Some(group) = self.group_of_drive(drive) else {
            return false;
        };
        match &self.model.gauges[reading] {
            Gauge::Pose(measure) => crate::assemble::measured(&self.model.mechanism, measure)
                .iter()
                .any(|&b| self.model.group_of[b] == Some(group)),
            Gauge::Over {
                reading,
                drive: over,
                ..
            } => *over != drive && self.depends(*reading, drive),
        }
    }

    /// Where a reading is least or greatest while a drive runs through what it can reach of its range.
    pub(crate) fn extreme(
        &mut self,
        reading: usize,
        here: &Here,
        drive: usize,
        greatest: bool,
    ) -> Option<Extreme> {
        if !self.depends(reading, drive) {
            return Some(Extreme {
                at: here.stand.drives[drive],
                here: here.clone(),
                limit: None,
            });
        }
        let (track, span) = self.span(here, drive)?;
        let places = places(&track, &span);
        let mut there = here.clone();
        let mut values = Vec::with_capacity(places.len());
        for place in &places {
            values.push(
                self.at_place(&track, *place, &mut there, reading)
                    .unwrap_or(f64::NAN),
            );
        }
        let mut best: Option<(f64, f64)> = None;
        for i in extremes(&values, greatest) {
            let found = self.refine(reading, &track, &places, &values, i, greatest, &mut there);
            // Of equal values the first place is told: rounding must not choose between them.
            let better = |b: (f64, f64)| {
                let by = if greatest {
                    found.1 - b.1
                } else {
                    b.1 - found.1
                };
                by > 1e-12 * (1.0 + b.1.abs())
            };
            if best.is_none_or(better) {
                best = Some(found);
            }
        }
        let (at, _) = best?;
        self.warm[reading][usize::from(greatest)] = Some(at);
        let sample = track.at(self.model, at)?;
        track.put(self.model, &sample, &mut there);
        let limit = if (at - span.low.at).abs() <= near(at) {
            span.low_limit
        } else if (at - span.high.at).abs() <= near(at) {
            span.high_limit
        } else {
            None
        };
        if let Some(limit) = limit {
            there.ended = Some((drive, limit));
        }
        Some(Extreme {
            at,
            here: there,
            limit,
        })
    }

    fn at_place(
        &mut self,
        track: &Rc<Track>,
        place: Place,
        there: &mut Here,
        reading: usize,
    ) -> Option<f64> {
        match place {
            Place::Sample(i) => track.put(self.model, track.samples.get(i)?, there),
            Place::Between(at) => track.put(self.model, &track.at(self.model, at)?, there),
        }
        self.value(reading, there)
    }

    /// The reading and its rate by the track's own drive, at a value on it.
    pub(crate) fn slope_on(
        &mut self,
        reading: usize,
        track: &Track,
        at: f64,
        there: &mut Here,
    ) -> Option<Read> {
        let sample = track.at(self.model, at)?;
        track.put(self.model, &sample, there);
        let rates = track
            .rates(self.model, &sample)
            .map(|own| self.spread(&self.model.groups[track.group].bodies, own));
        match &rates {
            Some(rates) => self.read(
                reading,
                there,
                Some(By {
                    drive: track.drive,
                    rates: Some(rates),
                }),
            ),
            None => self.read(reading, there, None),
        }
    }

    /// Third rate of a reading of one pose by the track's own drive, at a value on it; none at a dead centre.
    pub(crate) fn third_on(
        &self,
        reading: usize,
        track: &Track,
        at: f64,
        here: &Here,
    ) -> Option<f64> {
        let Gauge::Pose(measure) = self.model.gauges.get(reading)? else {
            return None;
        };
        track.third(self.model, at, here, measure)
    }

    /// The exact extreme near a sample that is one among samples: place and value.
    #[expect(clippy::too_many_arguments)]
    fn refine(
        &mut self,
        reading: usize,
        track: &Rc<Track>,
        places: &[Place],
        values: &[f64],
        i: usize,
        greatest: bool,
        there: &mut Here,
    ) -> (f64, f64) {
        let at = |p: Place| p.at(track);
        let x = at(places[i]);
        let sample = (x, values[i]);
        let Some(Read {
            slope: Some(slope), ..
        }) = self.slope_on(reading, track, x, there)
        else {
            return sample;
        };
        // Towards the side on which it still gets better.
        let up = (slope < 0.0) != greatest;
        let Some(&next) = (if up {
            places.get(i + 1)
        } else {
            i.checked_sub(1).and_then(|j| places.get(j))
        }) else {
            return sample;
        };
        let y = at(next);
        let Some(Read {
            slope: Some(slope_y),
            ..
        }) = self.slope_on(reading, track, y, there)
        else {
            return sample;
        };
        if slope == 0.0 || (slope > 0.0) == (slope_y > 0.0) {
            return sample;
        }
        let (low, high) = if x < y {
            ((x, slope), (y, slope_y))
        } else {
            ((y, slope_y), (x, slope))
        };
        let warm = self.warm[reading][usize::from(greatest)];
        let found = stationary(low, high, warm, |z| {
            self.slope_on(reading, track, z, there).map(Local::from)
        });
        found
            .filter(|f| {
                if greatest {
                    f.1 >= sample.1
                } else {
                    f.1 <= sample.1
                }
            })
            .unwrap_or(sample)
    }
}

/// A place on a path.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Place {
    /// One of its samples.
    Sample(usize),
    /// A value between samples.
    Between(f64),
}

impl Place {
    pub(crate) fn at(self, track: &Track) -> f64 {
        match self {
            Self::Sample(i) => track.samples[i].at,
            Self::Between(at) => at,
        }
    }
}

/// The samples that can be reached, and the two ends of the reach.
pub(crate) fn places(track: &Track, span: &Span) -> Vec<Place> {
    let (low, high) = (span.low.at, span.high.at);
    let inside = |x: f64| x > low + near(low) && x < high - near(high);
    let end = |x: f64| {
        track
            .samples
            .iter()
            .position(|s| (s.at - x).abs() <= near(x))
            .map_or(Place::Between(x), Place::Sample)
    };
    let mut places = vec![end(low)];
    places.extend(
        (0..track.samples.len())
            .filter(|&i| inside(track.samples[i].at))
            .map(Place::Sample),
    );
    if high > low + near(low) {
        places.push(end(high));
    }
    places
}
