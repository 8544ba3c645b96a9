//! Ball bearings in holes: fits, play that is left, pressing in, static load and life, and the smallest that does it.

mod life;

use super::answers::Kind;
use super::presses::{BEARING, Pressing, heat};
use super::room::{Room, elastic, pin, pin_diameter, room};
use super::say;
use super::seats::{self, same_size};
use super::study::{Draft, Study, fits, play, source};
use crate::answers::Severity;
use crate::load::service::{Peak, Turned};
use elements::bearings::play::{Group, SEATS_SOURCE, Turning, clearance_source, seats as advice};
use elements::bearings::{Bearing, Rating, smallest};
use elements::press::{Finish, LAME, Press, STEEL, effective_on_bearing, inner_ring, raceways};
use elements::{ElementError, friction_couples};
use machine::fitting::{Cut, Fitted, Hole};
use machine::model::{FRAME, PartKind};

/// A small deep groove bearing bears this much radial preload, mm (common practice).
const LIKELY: f64 = 0.005;
/// A ring tighter than this, mm, was meant to be tight.
const TIGHT: f64 = 0.002;
/// Wall left round a ring, as a share of its diameter, so that it counts as a thick hub.
const WALL: f64 = 1.25;

/// What a bearing goes through.
struct Duty {
    peak: Peak,
    axial: Peak,
    turned: Vec<Turned>,
    /// The load goes round the inner ring, the outer ring.
    round: [bool; 2],
    /// Cubic mean over greatest force.
    share: f64,
}

impl Study<'_> {
    pub(super) fn bearing(&mut self, hole: &Hole) {
        let Fitted::Bearing {
            name,
            bearing,
            closed,
            group,
            hub,
        } = &hole.fitted
        else {
            return;
        };
        let (part, point) = (self.part(hole.part), self.point(hole.point));
        let mut draft = Draft::new(
            Kind::Bearing,
            format!("ball bearing {name}"),
            format!("{part} at {point}"),
            self.hole_heading(hole),
            hole.place,
        );
        let stations = self.stations(hole);
        self.buy(stations, &format!("ball bearing {name}"), &draft.item.at);
        let room = room(self.machine, hole);
        draft
            .item
            .sizes
            .push(self.size("bore for the outer ring", hub));
        self.makes(&draft, Cut::Bore, hub);
        if (hub.class.starts_with("FN") || hub.class.starts_with("LN")) && hub.limits.lower >= 0.0 {
            let sentence = format!(
                "{}, {}: an inch class {} is made on the shaft and the hole left plain, and a ring is not made to it: the bore comes out loose",
                draft.item.what, draft.item.at, hub.class
            );
            self.say(
                Severity::Caution,
                &draft,
                sentence,
                Some(String::from(
                    "`hub = \"press\"` (N7) for a tight ring, or another ISO class",
                )),
            );
        }
        if let Some(pin) = pin(self.machine, hole.point) {
            draft
                .item
                .sizes
                .push(self.size("pin for the inner ring", pin));
        }
        if self.fits_in(&draft, hole, bearing, &room)
            && let Err(error) = self.seated(&mut draft, hole, bearing, *group, &room)
        {
            self.impossible(&draft, &error);
        }
        let width = if *closed {
            bearing.closed_width
        } else {
            bearing.width
        };
        if let Some(length) = room.length
            && width > length + 0.01
        {
            draft.assume(format!(
                "it is {} wide and stands {} out of {part}",
                say::size(width, self.machine),
                say::size(width - length, self.machine)
            ));
        }
        let word = match group {
            Group::C2 => "C2",
            Group::Normal => "normal",
            Group::C3 => "C3",
            Group::C4 => "C4",
        };
        draft.assume(format!(
            "internal clearance {word}, {}",
            source(clearance_source(bearing.bore, *group))
        ));
        draft.assume(format!("ratings: {}", source(bearing.source)));
        self.loads_of(&mut draft, hole, bearing);
        self.done(draft);
    }

    /// Two bearings stand where a shaft says where its bearings are.
    fn stations(&self, hole: &Hole) -> u32 {
        let shaft = self
            .machine
            .parts
            .iter()
            .position(|p| p.kind == PartKind::Shaft && p.carries.first() == Some(&hole.point));
        let both = shaft
            .and_then(|s| self.machine.work.parts.get(s))
            .is_some_and(|m| m.bearings.is_some());
        if hole.part == FRAME && both { 2 } else { 1 }
    }

    /// Whether the bearing goes into its bar and onto its pin; says so when it does not.
    fn fits_in(&mut self, draft: &Draft, hole: &Hole, bearing: &Bearing, room: &Room<'_>) -> bool {
        let machine = self.machine;
        let part = self.part(hole.part);
        let mut good = true;
        if let Some(diameter) = pin_diameter(machine, hole.point)
            && !same_size(diameter, bearing.bore)
        {
            let sentence = format!(
                "{}, {}: its bore is {}, the pin there {}",
                draft.item.what,
                draft.item.at,
                say::size(bearing.bore, machine),
                say::size(diameter, machine)
            );
            let others = smallest(|b| same_size(b.bore, diameter));
            let try_this = others.first().map_or_else(
                || format!("make the pin {}", say::size(bearing.bore, machine)),
                |b| {
                    format!(
                        "make the pin {}, or take a {}",
                        say::size(bearing.bore, machine),
                        b.name
                    )
                },
            );
            self.say(Severity::Fault, draft, sentence, Some(try_this));
            good = false;
        }
        if let Some(around) = room.around
            && bearing.outside >= around - 0.01
        {
            let sentence = format!(
                "{}, {}: it is {} across and {part} is {} wide there: nothing is left round it",
                draft.item.what,
                draft.item.at,
                say::size(bearing.outside, machine),
                say::size(around, machine)
            );
            let smaller =
                smallest(|b| same_size(b.bore, bearing.bore) && b.outside * WALL <= around);
            let wide = say::size(WALL * bearing.outside, machine);
            let try_this = match smaller.first() {
                Some(b) => format!(
                    "a {} leaves enough; or a bar of {wide}, or a boss (`around = ...`)",
                    b.name
                ),
                None => format!("a bar of {wide}, or a boss of that size (`around = \"{wide}\"`)"),
            };
            self.say(Severity::Fault, draft, sentence, Some(try_this));
            good = false;
        }
        good
    }

    fn seated(
        &mut self,
        draft: &mut Draft,
        hole: &Hole,
        bearing: &Bearing,
        group: Group,
        room: &Room<'_>,
    ) -> Result<(), ElementError> {
        let Some(seated) = seats::bearing(self.machine, hole) else {
            return Ok(());
        };
        let part = self.part(hole.part);
        draft.item.fits.push(fits(
            &format!("outer ring in {part}"),
            &seated.outer,
            self.machine,
        ));
        if let Some(inner) = &seated.inner {
            draft
                .item
                .fits
                .push(fits("inner ring on the pin", inner, self.machine));
        } else {
            draft.assume(
                "the pin has no tolerance class, so the inner ring is reckoned to slide on it",
            );
        }
        if let Some((least, most)) = seated.left {
            draft
                .item
                .fits
                .push(play("play left inside, radial", least, most, self.machine));
            if least < -1e-9 {
                let sentence = format!(
                    "{}, {}: at the tightest of its fits it runs with {} of preload",
                    draft.item.what,
                    draft.item.at,
                    say::close(-least, self.machine)
                );
                // A pair in a thousand is worth a word; a likely one a warning.
                let likely = f64::midpoint(least, most);
                let severity = if likely < -LIKELY {
                    Severity::Miss
                } else if likely < 0.0 {
                    Severity::Caution
                } else {
                    Severity::Note
                };
                let sentence = if likely < -LIKELY {
                    format!(
                        "{}, {}: with its likely fits it runs with {} of preload, up to {}: it runs hot, and its life is not what is reckoned",
                        draft.item.what,
                        draft.item.at,
                        say::close(-likely, self.machine),
                        say::close(-least, self.machine)
                    )
                } else {
                    sentence
                };
                let looser = match group {
                    Group::C2 | Group::Normal => ", or a bearing with more play inside (C3)",
                    Group::C3 | Group::C4 => "",
                };
                let try_this = format!("a lighter fit on the pin or in the hub{looser}");
                self.say(severity, draft, sentence, Some(try_this));
            }
        } else if let Some((least, most)) = seated.internal {
            draft.item.fits.push(play(
                "play inside, before fitting",
                least,
                most,
                self.machine,
            ));
        }
        let (inner_race, race) = raceways(bearing.bore, bearing.outside)?;
        self.onto_the_pin(draft, hole, bearing, inner_race, &seated)?;
        let length = room.length.map_or(bearing.width, |l| l.min(bearing.width));
        let press = Press {
            diameter: bearing.outside,
            length,
            hub_outside: room.around.unwrap_or(4.0 * bearing.outside),
            shaft_bore: race,
            hub: elastic(room.material),
            shaft: STEEL,
            round: room.round || room.around.is_none(),
        };
        if room.around.is_none() {
            draft.assume(format!(
                "nothing is known of {part} round the bore: it is reckoned as thick"
            ));
        }
        let hub = self.holder(hole);
        self.press_in(
            draft,
            room,
            &Pressing {
                press,
                fit: seated.outer,
                hub: &hub,
                push: "on the outer ring with a sleeve, never through the balls",
                inner: "the bearing",
                inner_bears: None,
                wall: None,
            },
        )
    }

    /// The inner ring on its pin: how far its raceway grows, the force to push it on, and heat instead.
    fn onto_the_pin(
        &mut self,
        draft: &mut Draft,
        hole: &Hole,
        bearing: &Bearing,
        race: f64,
        seated: &seats::Seated,
    ) -> Result<(), ElementError> {
        let Some(inner) = &seated.inner else {
            return Ok(());
        };
        let (loose, tight) = seats::interference(inner);
        if tight <= 0.0 {
            return Ok(());
        }
        let grows = |interference: f64| -> Result<f64, ElementError> {
            if interference <= 0.0 {
                return Ok(0.0);
            }
            let acting = effective_on_bearing(bearing.bore, interference, Finish::Turned)?;
            Ok(inner_ring(bearing.bore, race, acting, 0.0, STEEL)?.clearance_lost)
        };
        let (least, most) = (grows(loose)?, grows(tight)?);
        let text = format!(
            "its inner raceway grows by {} to {} on the pin",
            say::close_bare(least, self.machine),
            say::close(most, self.machine)
        );
        let mut figure = self.figure("inner raceway grows", least, "mm", LAME, text);
        figure.to = Some(most);
        draft.item.figures.push(figure);
        let press = Press {
            diameter: bearing.bore,
            length: bearing.width,
            hub_outside: race,
            shaft_bore: 0.0,
            hub: STEEL,
            shaft: STEEL,
            round: true,
        };
        let joint = press.at(effective_on_bearing(bearing.bore, tight, Finish::Turned)?)?;
        let mu = friction_couples::find("press fit, steel on steel, dry")?.most;
        let force = press.force(joint.pressure, mu)?;
        let (by, able) = self.pressed_by(force);
        let heat = heat("it", "the pin", &press, tight, BEARING)?;
        let warm = heat
            .how
            .as_ref()
            .map_or_else(String::new, |how| format!("; or it slips on {how}"));
        let text = format!(
            "goes onto its pin with up to {} (friction {mu}){by}; push on the inner ring{warm}",
            say::value(force, "N", self.machine)
        );
        draft.item.figures.push(self.figure(
            "force to push it onto its pin",
            force,
            "N",
            LAME,
            text,
        ));
        if !able {
            let point = self.point(hole.point);
            let sentence = format!(
                "{}, {}: it takes {} to push it onto its pin{by}",
                draft.item.what,
                draft.item.at,
                say::value(force, "N", self.machine)
            );
            let try_this = match heat.how {
                Some(how) => format!("slip it on {how}, or take a lighter fit in [joint.{point}]"),
                None => format!(
                    "take a lighter fit in [joint.{point}]: it would have to be {:.0} K warmer, and bears {BEARING:.0} K",
                    heat.warmer
                ),
            };
            self.say(Severity::Miss, draft, sentence, Some(try_this));
        }
        Ok(())
    }

    fn duty(&self, hole: &Hole) -> Option<Duty> {
        let joints = self.joints_at(hole.point, Some(hole.part));
        let (hardest, peak) = self.hardest(&joints)?;
        let service = self.service.joints.get(hardest)?;
        let own = self.rig.joints.get(hardest)?.on == self.part(hole.part);
        let [on, by] = service.round;
        let round = if own { [by, on] } else { [on, by] };
        let mut peak = peak.clone();
        let mean = service.turned.iter().fold(0.0_f64, |m, t| m.max(t.mean));
        let share = if peak.value > 0.0 && mean > 0.0 {
            (mean / peak.value).min(1.0)
        } else {
            1.0
        };
        let mut axial = Peak::default();
        // A shaft on two bearings presses each by its share.
        let shaft = self
            .machine
            .parts
            .iter()
            .position(|p| p.kind == PartKind::Shaft && p.carries.first() == Some(&hole.point));
        if let Some(load) =
            shaft.and_then(|s| self.service.shafts.iter().find(|l| l.shaft == self.part(s)))
        {
            let [a, b] = &load.bearings;
            let greater = if a.value >= b.value { a } else { b };
            if greater.value > 0.0 {
                peak = greater.clone();
            }
            axial = load.thrust.clone();
        }
        if let Some(thrust) = self
            .service
            .thrusts
            .get(hole.part)
            .filter(|t| t.value > axial.value)
        {
            axial = thrust.clone();
        }
        Some(Duty {
            peak,
            axial,
            turned: service.turned.clone(),
            round,
            share,
        })
    }

    /// What the load going round a ring asks of its fit.
    fn ring_advice(
        &mut self,
        draft: &mut Draft,
        hole: &Hole,
        rating: &Rating,
        bearing: &Bearing,
        duty: &Duty,
    ) {
        let turning = match duty.round {
            [true, false] => Turning::InnerRing,
            [false, true] => Turning::OuterRing,
            _ => Turning::Unknown,
        };
        let share = (duty.peak.value / rating.dynamic).min(1.0);
        let Ok(seats) = advice(bearing.bore, turning, share) else {
            return;
        };
        let text = format!(
            "usual seats: pin {}, bore {}: {}",
            seats.shaft, seats.housing, seats.why
        );
        draft.item.figures.push(self.figure(
            "load over dynamic rating",
            share,
            "",
            SEATS_SOURCE,
            text,
        ));
        let Some(seated) = seats::bearing(self.machine, hole) else {
            return;
        };
        let own = |f: &elements::Fit| f.likely_clearance();
        let loose = match turning {
            Turning::InnerRing => seated.inner.map(|f| ("inner", seats.shaft, f)),
            Turning::OuterRing => Some(("outer", seats.housing, seated.outer)),
            Turning::Unknown => None,
        };
        if let Some((ring, class, fit)) = loose.filter(|(.., f)| own(f) > 0.0) {
            let how = if fit.least_clearance() > 0.0 {
                String::from("always loose")
            } else {
                format!("likely loose, by {}", say::close(own(&fit), self.machine))
            };
            let sentence = format!(
                "{}, {}: the load goes round the {ring} ring, which is {how}: it will creep and wear its seat",
                draft.item.what, draft.item.at
            );
            self.say(
                Severity::Caution,
                draft,
                sentence,
                Some(format!("make its seat {class}")),
            );
        }
        // The ring under the standing load may slide; tight, it takes play and comes off with a puller only.
        let stands = match turning {
            Turning::InnerRing => Some(("outer", seats.housing, seated.outer)),
            Turning::OuterRing => seated.inner.map(|f| ("inner", seats.shaft, f)),
            Turning::Unknown => None,
        };
        if let Some((ring, class, fit)) = stands.filter(|(.., f)| own(f) < -TIGHT) {
            let sentence = format!(
                "{}, {}: the load stands still on the {ring} ring, which is likely tight by {}: it need not be, takes play inside and comes apart with a puller only",
                draft.item.what,
                draft.item.at,
                say::close(-own(&fit), self.machine)
            );
            self.say(
                Severity::Note,
                draft,
                sentence,
                Some(format!("{class} for its seat, so that it slides")),
            );
        }
    }
}
