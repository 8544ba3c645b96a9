//! Plain holes and tapped holes, and how a hole runs on its pin.

use super::answers::{Kind, Size};
use super::presses::Pressing;
use super::room::{pin, pin_diameter, room};
use super::say;
use super::seats::{fit, interference, pressed_play};
use super::study::{Draft, Study, fits, source, strength};
use super::tires::Tiring;
use crate::answers::Severity;
use elements::fits_iso;
use elements::pins_lugs::Lug;
use elements::threads::{basic, inch_stress_area, metric, strip, unified};
use elements::{ElementError, Limits, Source};
use machine::fitting::{Cut, Fitted, Hole};
use machine::model::FRAME;
use quantity::Thread;

/// Usual screws by what is stamped on them, with their tensile strength, MPa: metric (ISO 898-1) and inch (SAE J429).
const SCREWS: [(&str, f64); 2] = [("class 8.8", 800.0), ("grade 5", 827.0)];

/// A machine that runs, or stands in the sun, is warmer by this, K (common practice), and what of its play changes by less is not told, mm.
const WARM: f64 = 30.0;
const TOLD: f64 = 0.002;
const WARMER: Source =
    Source::of("change of play = ΔT × (diameters × expansions); a pressed-in wall grows inward");

/// A bar narrower than so many holes leaves less than a quarter of the hole on either side.
const THIN: f64 = 1.5;
/// The loosest fit that still runs as one (ISO 286, preferred fits).
const LOOSE: &str = "H11/c11";

impl Study<'_> {
    pub(super) fn hole_heading(&self, hole: &Hole) -> String {
        let point = self.point(hole.point);
        if hole.part == FRAME {
            return format!("frame.hole.{point}");
        }
        let word = match self.machine.parts.get(hole.part).map(|p| p.kind) {
            Some(machine::model::PartKind::Shaft) => "shaft",
            _ => "part",
        };
        format!("{word}.{}.hole.{point}", self.part(hole.part))
    }

    /// At how many stations a joint stands: a shaft that the file gives two bearings has two.
    pub(super) fn places(&self, point: machine::model::PointId) -> u32 {
        let parts = self.machine.parts.iter().zip(&self.machine.work.parts);
        let mut shafts = parts.filter(|(p, _)| p.carries.first() == Some(&point));
        if shafts.any(|(_, made)| made.bearings.is_some()) {
            2
        } else {
            1
        }
    }

    /// One clear word on sizes that do not go together.
    pub(super) fn impossible(&mut self, draft: &Draft, error: &ElementError) {
        let shown = |value: f64, unit: &str| say::value(value, unit, self.machine);
        let sized = |value: f64, unit: &str| {
            if unit == "mm" {
                say::size((1000.0 * value).round() / 1000.0, self.machine)
            } else {
                shown(value, unit)
            }
        };
        // Inches on a machine in inches; in all else the table's own words.
        let words = match error {
            ElementError::TooSmall {
                what,
                unit,
                got,
                than,
                needed,
            } if *unit == "mm" => format!(
                "the {what} is {}; it must be more than the {than}, {}",
                sized(*got, unit),
                sized(*needed, unit)
            ),
            ElementError::TooLarge {
                what,
                unit,
                got,
                than,
                needed,
            } if *unit == "mm" => format!(
                "the {what} is {}; it must be less than the {than}, {}",
                sized(*got, unit),
                sized(*needed, unit)
            ),
            ElementError::OutOfRange {
                what,
                unit,
                got,
                least,
                most,
            } if *unit == "mm" && *least > 1e-6 && *most < 1e6 => {
                format!(
                    "the {what} is {}; it must be from {} to {}",
                    sized(*got, unit),
                    sized(*least, unit),
                    sized(*most, unit)
                )
            }
            other => other.to_string(),
        };
        let sentence = format!("{}, {}: {words}", draft.item.what, draft.item.at);
        let try_this = match error {
            ElementError::TooSmall {
                what,
                unit,
                got,
                than,
                needed,
            } => format!(
                "make the {what} more than {}, or the {than} less than {}",
                shown(*needed, unit),
                shown(*got, unit)
            ),
            ElementError::TooLarge {
                what,
                unit,
                got,
                than,
                needed,
            } => format!(
                "make the {what} less than {}, or the {than} more than {}",
                shown(*needed, unit),
                shown(*got, unit)
            ),
            ElementError::OutOfRange {
                what, least, most, ..
            } if *most >= 1e11 => format!(
                "bring the {what} {}",
                if *least > 0.0 {
                    "above 0"
                } else {
                    "to 0 or more"
                }
            ),
            ElementError::OutOfRange {
                what,
                unit,
                least,
                most,
                ..
            } => {
                let plain = |x: f64| {
                    if *unit == "mm" {
                        say::size((1000.0 * x).round() / 1000.0, self.machine)
                    } else if unit.is_empty() {
                        let text = format!("{x:.3}");
                        text.trim_end_matches('0').trim_end_matches('.').to_owned()
                    } else {
                        shown(x, unit)
                    }
                };
                if *most >= 1e6 {
                    format!("make the {what} {} or more", plain(*least))
                } else {
                    format!(
                        "keep the {what} between {} and {}",
                        plain(*least),
                        plain(*most)
                    )
                }
            }
            _ => String::from("change one of the two sizes"),
        };
        self.say(Severity::Fault, draft, sentence, Some(try_this));
    }

    pub(super) fn hole(&mut self, hole: &Hole) {
        let place = format!("{} at {}", self.part(hole.part), self.point(hole.point));
        let heading = self.hole_heading(hole);
        match &hole.fitted {
            Fitted::Bearing { .. } => self.bearing(hole),
            Fitted::Plain { cut, size } => {
                let word = match cut {
                    Cut::Ream => "reamed hole",
                    Cut::Bore => "bored hole",
                    Cut::Drill => "drilled hole",
                };
                let what = format!(
                    "{word} {} {}",
                    say::size(size.nominal, self.machine),
                    size.class
                );
                let mut draft = Draft::new(Kind::Hole, what, place, heading, hole.place);
                draft.item.sizes.push(self.size("hole", size));
                if size.assumed {
                    draft.assume(format!(
                        "no class is given: {} is usual for the tool (common practice)",
                        size.class
                    ));
                }
                self.makes(&draft, *cut, size);
                self.plain(&mut draft, hole, size.nominal);
                self.done(draft);
            }
            Fitted::Bushing { .. } => {
                let draft = Draft::new(Kind::Bushing, String::new(), place, heading, hole.place);
                self.bushing(draft, hole);
            }
            Fitted::Tapped { thread, depth } => {
                let what = format!("tapped hole {}", thread.name);
                let draft = Draft::new(Kind::Tapped, what, place, heading, hole.place);
                self.tapped(draft, hole, thread, *depth);
            }
        }
    }

    /// Fit on the pin, and the metal beside the hole.
    fn plain(&mut self, draft: &mut Draft, hole: &Hole, nominal: f64) {
        self.running(draft, hole);
        let room = room(self.machine, hole);
        let Some((lug, force)) = self.lug(hole, nominal, None) else {
            draft.assume(format!(
                "no stock is given for {}: the metal beside the hole is not checked",
                self.part(hole.part)
            ));
            return;
        };
        let joints = self.joints_at(hole.point, Some(hole.part));
        let peak = self.hardest(&joints).map(|(_, p)| p);
        let Some(material) = room.material else {
            return;
        };
        let yields = strength(material);
        self.grade(material);
        if super::room::joint(self.machine, hole.point).and_then(|j| j.fork) == Some(hole.part) {
            draft.assume("two ears share the load");
        }
        self.thin(draft, lug.width, nominal, hole.around.is_some());
        match lug.checks(force, yields.unwrap_or(1.0)) {
            Ok(checks) if yields.is_some() => {
                draft.assume(
                    "the end is rounded about the hole: as much metal before it as beside it",
                );
                for check in &checks {
                    let checked = self.check(check, self.factor(), peak);
                    draft.item.checks.push(checked);
                }
                self.wider(draft, hole, &lug, force, yields.unwrap_or(1.0));
            }
            Ok(_) => draft.assume(format!(
                "no strength is known for {}: the metal beside the hole is not checked",
                material.name
            )),
            Err(_) => {
                let sentence = format!(
                    "{}, {}: the bar is {} wide there: nothing is left beside the hole",
                    draft.item.what,
                    draft.item.at,
                    say::size(lug.width, self.machine)
                );
                let wide = say::size(2.0 * nominal, self.machine);
                let try_this =
                    format!("a smaller hole, or a bar or boss of {wide} (`around = \"{wide}\"`)");
                self.say(Severity::Fault, draft, sentence, Some(try_this));
            }
        }
    }

    /// Metal beside a hole that is there, and too thin to be made or to stay whole.
    fn thin(&mut self, draft: &Draft, width: f64, hole: f64, boss: bool) {
        if width <= hole + 0.01 || width >= THIN * hole - 1e-6 {
            return;
        }
        let size = |mm: f64| say::size((100.0 * mm).round() / 100.0, self.machine);
        let sentence = format!(
            "{}, {}: {} of metal are left on either side of it: it breaks out or goes out of round in the making (half a hole is usual, common practice)",
            draft.item.what,
            draft.item.at,
            size(0.5 * (width - hole))
        );
        let wide = size(2.0 * hole);
        let try_this = if boss {
            format!("a boss of {wide} (`around = \"{wide}\"`), or a smaller hole")
        } else {
            format!("a bar {wide} wide or a boss (`around = \"{wide}\"`), or a smaller hole")
        };
        self.say(Severity::Caution, draft, sentence, Some(try_this));
    }

    /// A pin that is tight in a plain hole is pressed in.
    fn pressed_pin(
        &mut self,
        draft: &mut Draft,
        hole: &Hole,
        limits: &Limits,
        pin: &machine::fitting::Sized,
    ) {
        let found = fit(limits, &pin.limits);
        let room = room(self.machine, hole);
        let (Some(length), Some(around)) = (room.length, room.around) else {
            return;
        };
        if found.likely_clearance() >= 0.0 || around <= pin.nominal + 0.01 {
            return;
        }
        let of_pin = super::room::joint(self.machine, hole.point)
            .and_then(|j| j.material)
            .and_then(|m| self.machine.work.materials.get(m))
            .or(self.steel());
        let pressing = Pressing {
            press: elements::press::Press {
                diameter: pin.nominal,
                length,
                hub_outside: around,
                shaft_bore: 0.0,
                hub: super::room::elastic(room.material),
                shaft: super::room::elastic(of_pin),
                round: room.round,
            },
            fit: found,
            hub: self.part(hole.part),
            push: "straight, the part squarely supported",
            inner: "the pin",
            inner_bears: Some(super::presses::bears(of_pin)),
            wall: None,
        };
        if let Err(error) = self.press_in(draft, &room, &pressing) {
            self.impossible(draft, &error);
        }
        not_borne(draft);
    }

    /// The narrowest bar that bears this hole and whatever else its part goes through; a boss where the file gives one.
    fn wider(&self, draft: &mut Draft, hole: &Hole, lug: &Lug, force: f64, yields: f64) {
        if self.tires_of(hole.part) == Tiring::Unknown {
            draft.unoffered("what its material bears of loads that come again is not known");
        }
        let now = super::room::stock(self.machine, hole.part).map(|s| s.section);
        if let (None, Some(now)) = (hole.around, now) {
            let best = self.narrowest(hole.part, yields);
            let smaller =
                best.is_some_and(|b| super::rods::area(b) < super::rods::area(now) - 0.01);
            draft.would_do(
                best.map(|b| self.bar_words(b, now)),
                "bar of this material",
                smaller,
            );
            return;
        }
        let passes = |width: f64| {
            let lug = Lug {
                width,
                edge: width / 2.0,
                ..*lug
            };
            width >= 2.0 * lug.hole
                && lug
                    .checks(force, yields)
                    .is_ok_and(|all| all.iter().all(|c| c.passes(self.factor())))
        };
        let best = self.widths().into_iter().find(|w| passes(*w));
        draft.would_do(
            best.map(|w| format!("a boss of {}", say::size(w, self.machine))),
            "bosses of this thickness (a thicker one, or a larger pin, presses less)",
            best.is_some_and(|w| w < lug.width - 0.01),
        );
    }

    /// The fit of a hole on its pin.
    pub(super) fn running(&mut self, draft: &mut Draft, hole: &Hole) {
        let hole_limits = match &hole.fitted {
            Fitted::Plain { size, .. } => size.limits,
            Fitted::Bushing { bore, .. } => bore.limits,
            _ => return,
        };
        self.roomy(draft, hole, &hole_limits);
        let Some(pin) = pin(self.machine, hole.point).cloned() else {
            draft.assume(
                "the pin has no tolerance class: write one with its diameter to see the fit",
            );
            return;
        };
        draft.item.sizes.push(self.size("pin", &pin));
        let found = fit(&hole_limits, &pin.limits);
        draft
            .item
            .fits
            .push(fits("pin in the hole", &found, self.machine));
        self.character(draft, hole, &pin);
        if matches!(hole.fitted, Fitted::Plain { .. }) {
            self.pressed_pin(draft, hole, &hole_limits, &pin);
        }
        self.warm(draft, hole);
        if pin.nominal > hole_limits.nominal + 0.5 && interference(&found).0 > 0.1 {
            let sentence = format!(
                "{}, {}: a pin of {} does not go through",
                draft.item.what,
                draft.item.at,
                say::size(pin.nominal, self.machine)
            );
            self.say(
                Severity::Fault,
                draft,
                sentence,
                Some("make hole and pin of one size".into()),
            );
        }
    }

    /// How the play changes when the machine runs warm, where hole and pin are of different stuff.
    fn warm(&mut self, draft: &mut Draft, hole: &Hole) {
        let expands = |m: Option<&machine::work::Material>| {
            m.and_then(|m| m.expansion)
                .unwrap_or(elements::press::STEEL.expansion)
        };
        let part = room(self.machine, hole).material;
        let Some(pin) = pin(self.machine, hole.point) else {
            return;
        };
        let of_pin = super::room::joint(self.machine, hole.point)
            .and_then(|j| j.material)
            .and_then(|m| self.machine.work.materials.get(m));
        let d = pin.nominal;
        let grows = match &hole.fitted {
            // Its hub holds it: what the wall grows goes inward.
            Fitted::Bushing {
                material,
                outside: Some((own, _)),
                ..
            } => {
                let wall = super::seats::bushing_row(material.name).map_or(0.0, |m| m.expansion);
                own.nominal * expands(part) - (own.nominal - d) * wall
            }
            Fitted::Plain { .. } => d * expands(part),
            _ => return,
        };
        let change = WARM * (grows - d * expands(of_pin));
        if change.abs() < TOLD {
            return;
        }
        let text = format!(
            "warmer by {WARM:.0} K all through it has {} {} play, colder by as much the other way",
            say::close(change.abs(), self.machine),
            if change > 0.0 { "more" } else { "less" }
        );
        draft
            .item
            .figures
            .push(self.figure("play warm", change, "mm", WARMER, text));
        // What runs in the shop may grip in the sun.
        let own = match &hole.fitted {
            Fitted::Plain { size, .. } => {
                let found = fit(&size.limits, &pin.limits);
                Some((found.least_clearance(), found.most_clearance()))
            }
            _ => pressed_play(self.machine, hole),
        };
        if let Some((least, _)) = own.filter(|(least, most)| *least >= 0.0 && *most > 0.0)
            && least + change < -1e-9
        {
            let sentence = format!(
                "{}, {}: warmer by {WARM:.0} K at its tightest it grips the pin by {}",
                draft.item.what,
                draft.item.at,
                say::close(-change - least, self.machine)
            );
            let try_this = "a looser fit, or pin and part of metals that grow alike";
            self.say(Severity::Caution, draft, sentence, Some(try_this.into()));
        }
    }

    /// What a fit is for; where it is none of the usual ones on the hole basis, the nearest of them.
    fn character(&self, draft: &mut Draft, hole: &Hole, pin: &machine::fitting::Sized) {
        let Fitted::Plain { size, .. } = &hole.fitted else {
            return;
        };
        // Inch classes name both sides.
        if size.class == pin.class {
            let class = elements::fits_inch::classes().find(|c| c.0 == size.class);
            if let Some((name, duty)) = class {
                let own = fit(&size.limits, &pin.limits).likely_clearance();
                let text = format!("{name}: {duty}");
                let origin = elements::fits_inch::source(name);
                draft
                    .item
                    .figures
                    .push(self.figure("usual fit", own, "mm", origin, text));
            }
            return;
        }
        let pair = format!("{}/{}", size.class, pin.class);
        let own = fit(&size.limits, &pin.limits).likely_clearance();
        let known = fits_iso::PREFERRED.iter().find(|p| p.name == pair);
        let (name, text) = match known {
            Some(p) => (p.name, format!("{}: {}", p.name, p.duty)),
            None => {
                let near = fits_iso::PREFERRED
                    .iter()
                    .filter_map(|p| {
                        let fit = fits_iso::fit(p.name, size.nominal).ok()?;
                        Some(((fit.likely_clearance() - own).abs(), p))
                    })
                    .min_by(|a, b| a.0.total_cmp(&b.0));
                let Some((_, p)) = near else { return };
                (
                    p.name,
                    format!(
                        "{pair} is none of the usual fits: nearest on the hole basis is {}: {}",
                        p.name, p.duty
                    ),
                )
            }
        };
        let Ok(found) = fits_iso::fit(name, size.nominal) else {
            return;
        };
        let origin = fits_iso::PREFERRED[0].source;
        draft.item.figures.push(self.figure(
            "usual fit",
            found.likely_clearance(),
            "mm",
            origin,
            text,
        ));
    }

    /// A pin of another size than its hole: a slip of the pen, or a bushing forgotten.
    fn roomy(&mut self, draft: &Draft, hole: &Hole, limits: &Limits) {
        let machine = self.machine;
        let Some(diameter) = pin_diameter(machine, hole.point) else {
            return;
        };
        let known = pin(machine, hole.point);
        let thinnest = known.map_or(diameter, |p| p.limits.least());
        let play = limits.most() - thinnest;
        // Classes that were written for one nominal size are a fit by themselves, however loose.
        let assumed = match &hole.fitted {
            Fitted::Plain { size, .. } => size.assumed,
            _ => false,
        };
        if !assumed && known.is_some_and(|p| (p.nominal - limits.nominal).abs() < 1e-3) {
            return;
        }
        let Ok(loose) = fits_iso::fit(LOOSE, diameter) else {
            return;
        };
        if play <= loose.most_clearance() {
            return;
        }
        let sentence = format!(
            "{}, {}: the pin there is {} and has {} of play in it, where the loosest running fit gives {} ({LOOSE}, ISO 286)",
            draft.item.what,
            draft.item.at,
            say::size(diameter, machine),
            say::close(play, machine),
            say::close(loose.most_clearance(), machine)
        );
        let try_this = format!(
            "make the pin {}, or the hole {}; a bushing between them if both have to stay",
            say::size(limits.nominal, machine),
            say::size(diameter, machine)
        );
        self.say(Severity::Miss, draft, sentence, Some(try_this));
    }

    fn tapped(&mut self, mut draft: Draft, hole: &Hole, thread: &Thread, depth: Option<f64>) {
        let machine = self.machine;
        let room = room(machine, hole);
        if let (Some(depth), Some(length)) = (depth, room.length)
            && depth > length + 1e-9
        {
            let sentence = format!(
                "{}, {}: the thread is {} deep and {} only {} thick",
                draft.item.what,
                draft.item.at,
                say::size(depth, machine),
                self.part(hole.part),
                say::size(length, machine)
            );
            let try_this = format!(
                "tap it through, {} deep, or take thicker stock",
                say::size(length, machine)
            );
            self.say(Severity::Fault, &draft, sentence, Some(try_this));
        }
        if let Some(around) = room.around
            && thread.major >= around - 0.01
        {
            let sentence = format!(
                "{}, {}: the bar is {} wide: nothing is left round the thread",
                draft.item.what,
                draft.item.at,
                say::size(around, machine)
            );
            let wide = say::size(2.0 * thread.major, machine);
            self.say(
                Severity::Fault,
                &draft,
                sentence,
                Some(format!("a smaller thread, or a boss of {wide}")),
            );
        }
        if let Some(around) = room.around {
            self.thin(&draft, around, thread.major, hole.around.is_some());
        }
        if let Some(diameter) = pin_diameter(machine, hole.point)
            && (diameter > thread.major + 0.01 + thread.pitch * 4.0
                || diameter < 0.6 * (thread.major - 1.3 * thread.pitch))
        {
            let sentence = format!(
                "{}, {}: the pin there is {}: one of {} is not screwed in there",
                draft.item.what,
                draft.item.at,
                say::size(diameter, machine),
                say::size(diameter, machine)
            );
            let try_this = format!(
                "a pin of about {}, its end threaded {}, or another thread",
                say::size(thread.major, machine),
                thread.name
            );
            self.say(Severity::Fault, &draft, sentence, Some(try_this));
        }
        self.unmade(&draft, thread);
        let limits = if thread.inch {
            unified::limits(thread.major, thread.pitch, thread.major).ok()
        } else {
            metric::limits(thread.major, thread.pitch).ok()
        };
        if let Some(limits) = &limits {
            let (class, origin) = if thread.inch {
                ("2B", unified::SOURCE)
            } else {
                ("6H", metric::SOURCE)
            };
            for (what, size) in [
                ("minor diameter of the thread", limits.nut_minor),
                ("its pitch diameter", limits.nut_pitch),
            ] {
                draft.item.sizes.push(Size {
                    what: what.to_owned(),
                    nominal: size.nominal,
                    class: class.to_owned(),
                    least: size.least(),
                    most: size.most(),
                    shown: format!(
                        "{class}: {} to {}",
                        say::close_bare(size.least(), machine),
                        say::close(size.most(), machine)
                    ),
                    source: source(origin),
                });
            }
        }
        self.tap_drill(&mut draft, thread, limits.as_ref());
        if let (Some(limits), Some(material)) = (limits, room.material)
            && let Some(tensile) = material.tensile
            && let Ok(basics) = basic(thread.major, thread.pitch)
        {
            let pair = strip::Pair::of_limits(&limits, thread.pitch, None);
            let (stamped, breaks) = SCREWS[usize::from(thread.inch)];
            let area = if thread.inch {
                inch_stress_area(thread.major, thread.pitch).unwrap_or(basics.stress_area)
            } else {
                basics.stress_area
            };
            if let Ok(needed) = strip::engagement(&pair, area, breaks, tensile) {
                let text = format!(
                    "a screw of {stamped} breaks before the thread strips from {} of engagement on",
                    say::size((10.0 * needed.needed).ceil() / 10.0, machine)
                );
                draft.item.figures.push(self.figure(
                    "engagement that does not strip",
                    needed.needed,
                    "mm",
                    strip::SOURCE,
                    text,
                ));
                self.grade(material);
                let has = depth.or(room.length);
                if let Some(has) = has.filter(|h| *h + 1e-9 < needed.needed) {
                    let sentence = format!(
                        "{}, {}: it is {} deep, and strips before a screw of {stamped} breaks: {} would hold it fully",
                        draft.item.what,
                        draft.item.at,
                        say::size(has, machine),
                        say::size((10.0 * needed.needed).ceil() / 10.0, machine)
                    );
                    self.say(Severity::Note, &draft, sentence, None);
                }
            }
        }
        self.done(draft);
    }
}

/// A hub that does not bear what is pressed into it: no other length or bar mends that.
pub(super) fn not_borne(draft: &mut Draft) {
    if draft.item.checks.iter().any(|c| !c.passes) {
        draft.unoffered("its hub does not bear the fit");
    }
}
