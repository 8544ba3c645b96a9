//! What all operation sheets share: the sheet as it grows, cautions said once, words for coordinates and measuring.

use super::holes::On;
use super::too_fast::Fast;
use super::{Bench, SPREAD, SetUp, Sheet, Step};
use crate::contour::P;
use crate::finding::{Finding, Grade};
use crate::part::{Form, Part};
use crate::speeds::{self, Tool};
use crate::words;
use machine::equipment::{DrillPress, Lathe, Mill, RotaryTable, Shop, Spindle};
use machine::fitting::Sized;
use std::cell::{Cell, RefCell};

/// Cautions, in the words of the bench.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Caution {
    /// Bar that stands out behind the spindle.
    LongStock,
    /// Work off centre in the chuck.
    OutOfBalance,
    /// Small parts.
    SmallPart,
    /// Parting off.
    Parting,
    /// Drilling thin plate.
    Drilling,
    /// Brazing.
    Brazing,
    /// Pressing.
    Pressing,
    /// Filing in the lathe.
    Chuck,
    /// Quenching.
    Hardening,
}

impl Caution {
    fn words(self) -> &'static str {
        match self {
            Self::LongStock => {
                "Bar that stands out behind the spindle whips and bends without warning: cut it short, or guide it in a tube that is held fast."
            }
            Self::OutOfBalance => {
                "Work off centre is out of balance: turn the chuck by hand first, start at the slowest speed, stand out of its line."
            }
            Self::SmallPart => {
                "A small part is thrown by the cutter when it is held by hand: clamp it, and keep fingers away until the spindle stands still."
            }
            Self::Parting => {
                "Parting: lock the saddle, tool on centre and square, slow, with oil; never between centres. Do not catch the part by hand."
            }
            Self::Drilling => {
                "Drills grab as they break through: clamp the work against turning, ease the feed at the end."
            }
            Self::Brazing => {
                "Brazing: no cadmium-bearing alloy, flux fumes away from the face, everything that burns out of reach."
            }
            Self::Pressing => {
                "Pressed rings and hardened parts can burst: eye protection, a guard round the work, press square and on the ring that takes the fit."
            }
            Self::Hardening => {
                "Quenching oil flares up: a lid that fits, no water near it, face shield, gloves, outdoors or under a hood."
            }
            Self::Chuck => "Chuck key out before the spindle turns; sleeves, rings and hair away.",
        }
    }
}

/// How work that is clamped again lies on the table.
#[derive(Default, Clone, Copy, PartialEq, Eq)]
pub(super) enum Turned {
    /// As before.
    #[default]
    Not,
    /// End for end: dials read both ways with the other sign.
    Half,
    /// A quarter clockwise, seen from above: dials read y and -x of the drawing.
    Quarter,
}

impl Turned {
    /// A place of the drawing as dials read it.
    pub(super) fn place(self, at: [f64; 2]) -> [f64; 2] {
        let clean = |x: f64| if x == 0.0 { 0.0 } else { x };
        match self {
            Self::Not => at,
            Self::Half => [clean(-at[0]), clean(-at[1])],
            Self::Quarter => [at[1], clean(-at[0])],
        }
    }
}

/// A sheet as it grows.
pub(super) struct Work<'a> {
    pub(super) part: &'a Part,
    pub(super) bench: &'a Bench<'a>,
    setups: Vec<SetUp>,
    said: Vec<Caution>,
    /// Reasons that the sheet has given already.
    reasons: Vec<String>,
    findings: Vec<Finding>,
    /// The work lies turned a quarter clockwise on the table, its longer side along it: dials read y and -x of the drawing.
    turned: Cell<bool>,
    /// How this clamping lies to the first one.
    pub(super) lies: Cell<Turned>,
    /// Speeds that no machine here goes down to.
    fast: RefCell<Vec<Fast>>,
    /// The part is not made here at all: what else is lacking for it is no news.
    elsewhere: bool,
}

impl<'a> Work<'a> {
    pub(super) fn new(part: &'a Part, bench: &'a Bench<'a>) -> Self {
        Self {
            part,
            bench,
            setups: Vec::new(),
            said: Vec::new(),
            reasons: Vec::new(),
            findings: Vec::new(),
            turned: Cell::default(),
            lies: Cell::default(),
            fast: RefCell::default(),
            elsewhere: false,
        }
    }

    pub(super) fn shop(&self) -> Option<&'a Shop> {
        self.bench.shop
    }

    pub(super) fn lathe(&self) -> Option<&'a Lathe> {
        match &self.part.form {
            Form::Turned(t) => crate::turning::lathe(self.shop(), self.part, t),
            Form::Plate(_) => self.shop()?.lathes.first(),
        }
    }

    /// The mill for this part: of those whose travel takes it the one that reads finest, else the one that travels furthest.
    pub(super) fn mill(&self) -> Option<&'a Mill> {
        let mills = &self.shop()?.mills;
        let [long, wide] = match &self.part.form {
            Form::Plate(p) => {
                let [low, high] = p.outline.bounds();
                let (x, y) = (high[0] - low[0], high[1] - low[1]);
                [x.max(y), x.min(y)]
            }
            Form::Turned(t) => [t.length(), t.largest()],
        };
        let reads = |m: &Mill| m.readout.unwrap_or(m.dial).min(m.dial);
        mills
            .iter()
            .filter(|m| long <= m.travel[0] && wide <= m.travel[1])
            .min_by(|a, b| reads(a).total_cmp(&reads(b)))
            .or_else(|| {
                mills
                    .iter()
                    .max_by(|a, b| a.travel[0].total_cmp(&b.travel[0]))
            })
    }

    pub(super) fn drill_press(&self) -> Option<&'a DrillPress> {
        self.shop()?.drill_presses.first()
    }

    pub(super) fn rotary(&self) -> Option<&'a RotaryTable> {
        self.shop()?.rotary_tables.first()
    }

    /// A length in the unit of the sheet.
    pub(super) fn mm(&self, x: f64) -> String {
        words::worked(x, self.bench.unit)
    }

    /// A cutter by its diameter in the unit of the sheet: `end mill 10`, `end mill 3/8 in`.
    pub(super) fn tool(&self, kind: &str, diameter: f64) -> String {
        format!("{kind} {}", words::tool_size(diameter, self.bench.unit))
    }

    /// What is left on for a later cut, as it is judged by eye: `1`, `1/32`.
    pub(super) fn allowance(&self, mm: f64) -> String {
        if self.bench.unit == quantity::Unit::Inch {
            let over = (mm / 25.4 * 32.0).round().max(1.0);
            format!("{}/32", words::number(over, 0))
        } else {
            self.mm(mm)
        }
    }

    /// A length as a dial or readout with this division shows it.
    pub(super) fn read(&self, x: f64) -> String {
        let places = words::decimals(self.bench.unit).min(3);
        let shown = format!("{:.places$}", self.bench.unit.from_inside(x));
        // Nobody dials minus nothing.
        match shown.strip_prefix('-') {
            Some(rest) if rest.chars().all(|c| c == '0' || c == '.') => rest.to_owned(),
            _ => shown,
        }
    }

    /// The last little that is taken off by hand: `hundredth`, `half a thou`.
    pub(super) fn allowance_last(&self) -> &'static str {
        if self.bench.unit == quantity::Unit::Inch {
            "half thou"
        } else {
            "hundredth"
        }
    }

    /// What is measured of a fit, as finely as its limits are written.
    pub(super) fn fine(&self, x: f64) -> String {
        let places = words::decimals(self.bench.unit).min(4);
        format!("{:.places$}", self.bench.unit.from_inside(x))
    }

    /// A place that is only looked for: as short as it may be written.
    pub(super) fn near(&self, at: P) -> String {
        let places = words::decimals(self.bench.unit).saturating_sub(2);
        let one = |x: f64| words::number(self.bench.unit.from_inside(x), places);
        format!("x {} y {}", one(at[0]), one(at[1]))
    }

    /// Whether the work lies turned a quarter clockwise.
    pub(super) fn lies_turned(&self) -> bool {
        self.turned.get()
    }

    /// Lays the work turned, or straight again.
    pub(super) fn lay(&self, turned: bool) {
        self.turned.set(turned);
    }

    /// A place of the drawing as the work lies on the table.
    pub(super) fn laid(&self, at: P) -> P {
        let at = if self.turned.get() {
            [at[1], -at[0]]
        } else {
            at
        };
        self.lies.get().place(at)
    }

    /// The direction of the drawing that lies along one of the table.
    pub(super) fn unlaid(&self, u: P) -> P {
        [[1.0, 0.0], [0.0, 1.0]].map(|e| {
            let e = self.laid(e);
            e[0] * u[0] + e[1] * u[1]
        })
    }

    /// A place of the table in the words of the dials.
    pub(super) fn dials(&self, at: P) -> String {
        format!("x {}  y {}", self.read(at[0]), self.read(at[1]))
    }

    /// `x 55.000  y 0.000`: a place of the drawing, as the dials read it.
    pub(super) fn xy(&self, at: P) -> String {
        self.dials(self.laid(at))
    }

    pub(super) fn finding(
        &mut self,
        grade: Grade,
        text: impl Into<String>,
        advice: impl Into<String>,
    ) {
        let finding = Finding::new(grade, &self.part.name, text, advice);
        if !self.elsewhere && !self.findings.contains(&finding) {
            self.findings.push(finding);
        }
    }

    /// The one finding of a part for which the machine itself is lacking: tools for that machine are not missed besides.
    pub(super) fn not_here(&mut self, text: &str, advice: &str) {
        self.findings.clear();
        self.finding(Grade::Cannot, text, advice);
        self.elsewhere = true;
    }

    /// What is lacking on the mill; without a mill that has been said.
    pub(super) fn on_mill(
        &mut self,
        grade: Grade,
        text: impl Into<String>,
        advice: impl Into<String>,
    ) {
        if self.shop().is_none_or(|s| !s.mills.is_empty()) {
            self.finding(grade, text, advice);
        }
    }

    /// The end mill that goes round outlines: the smallest that is stiff enough, 8 mm and over; 10 mm where the shop names none (common practice).
    pub(super) fn outline_cutter(&self) -> f64 {
        let own = || {
            let all = self.shop().into_iter().flat_map(|s| &s.tools.end_mills);
            all.copied()
        };
        let thick = match &self.part.form {
            Form::Plate(p) => p.thickness,
            Form::Turned(_) => 0.0,
        };
        // The thinnest whose flutes reach through: it bends the least for its room.
        let usual = own()
            .filter(|d| *d >= 8.0 && flute(*d) >= thick)
            .min_by(f64::total_cmp)
            .or_else(|| own().filter(|d| *d >= 8.0).max_by(f64::total_cmp))
            .unwrap_or(10.0);
        // Into inside corners goes the largest that fits, as long as its flutes reach through (common practice: three diameters).
        let Form::Plate(p) = &self.part.form else {
            return usual;
        };
        match super::gouge::inside_radius(p) {
            Some(r) if usual > 2.0 * r + 1e-9 => own()
                .filter(|d| *d <= 2.0 * r + 1e-9 && p.thickness <= 3.0 * d)
                .max_by(f64::total_cmp)
                .unwrap_or(usual),
            _ => usual,
        }
    }

    /// Begins a set-up.
    pub(super) fn set_up(
        &mut self,
        title: &str,
        machine: &str,
        holding: impl Into<String>,
        zero: impl Into<String>,
        minutes: f64,
    ) {
        self.lies.set(Turned::Not);
        self.setups.push(SetUp {
            title: title.to_owned(),
            machine: machine.to_owned(),
            holding: holding.into(),
            zero: zero.into(),
            minutes,
            ..SetUp::default()
        });
    }

    /// A caution, once in the sheet, at the set-up that is open.
    pub(super) fn caution(&mut self, caution: Caution) {
        if self.said.contains(&caution) {
            return;
        }
        self.said.push(caution);
        let on_lathe = self
            .setups
            .last()
            .is_some_and(|s| s.machine.starts_with("lathe"));
        if caution == Caution::OutOfBalance && on_lathe {
            super::too_fast::off_centre(self);
        }
        if let Some(last) = self.setups.last_mut() {
            last.cautions.push(caution.words().to_owned());
        }
    }

    /// Adds a step to the open set-up; a reason stands once in a sheet.
    pub(super) fn step(&mut self, mut step: Step) {
        if self.reasons.contains(&step.why) {
            step.why.clear();
        } else if !step.why.is_empty() {
            self.reasons.push(step.why.clone());
        }
        if let Some(last) = self.setups.last_mut() {
            last.steps.push(step);
        }
    }

    /// How many steps the open set-up has.
    pub(super) fn steps_now(&self) -> usize {
        self.setups.last().map_or(0, |s| s.steps.len())
    }

    /// Takes steps that begin with this word, from a place in the open set-up on, out of it.
    pub(super) fn hold_back(&mut self, from: usize, word: &str) -> Vec<Step> {
        let Some(open) = self.setups.last_mut() else {
            return Vec::new();
        };
        let late = open.steps.split_off(from.min(open.steps.len()));
        let (back, stay): (Vec<Step>, Vec<Step>) =
            late.into_iter().partition(|s| s.text.starts_with(word));
        open.steps.extend(stay);
        back
    }

    /// Turns a minute for a tool of this diameter.
    pub(super) fn rpm(&self, tool: Tool, diameter: f64, spindle: Option<&Spindle>) -> Option<f64> {
        // A shop without the machine has no speed to set.
        if self.shop().is_some() && spindle.is_none() {
            return None;
        }
        let any = Spindle::Range([60.0, 3000.0]);
        let rpm = speeds::rpm(&self.part.material, tool, diameter, spindle.unwrap_or(&any));
        // What is set on a stepless drive is a round number.
        let round = if matches!(spindle, Some(Spindle::Steps(_))) {
            rpm
        } else {
            let step = if rpm > 500.0 { 50.0 } else { 10.0 };
            (rpm / step).floor().max(1.0) * step
        };
        // Boring, grooving and chamfering go slower for chatter's sake: what burns is the speed of turning.
        let tool = match tool {
            Tool::Boring => Tool::Turning { carbide: false },
            other => other,
        };
        let wanted = speeds::turns(&self.part.material, tool, diameter);
        if spindle.is_some() && round > speeds::BURNS * wanted {
            self.fast.borrow_mut().push(Fast {
                tool,
                diameter,
                wanted,
                set: round,
            });
        }
        Some(round)
    }

    /// What to measure a size with, and what it has to be.
    pub(super) fn measure(&self, what: &str, nominal: f64, class: Option<&Sized>) -> String {
        match class {
            Some(c) => {
                let tool = if c.limits.tolerance() < 0.05 {
                    "micrometer"
                } else {
                    "caliper"
                };
                format!("{what} {} ({tool})", words::limits(c, self.bench.units()))
            }
            None => format!(
                "{what} {} ± {} (caliper)",
                self.mm(nominal),
                self.mm(general(nominal))
            ),
        }
    }

    /// Speeds that no machine here goes down to, as they were asked for.
    pub(super) fn too_fast(&self) -> Vec<Fast> {
        self.fast.borrow().clone()
    }

    /// The largest drill that turns in this material where a hole is made: what mill and press are told to drill is for steel; softer metal bears
    /// half as much again (common practice).
    pub(super) fn drills_to(&self, on: On) -> f64 {
        let Some(shop) = self.shop().filter(|_| on == On::Mill) else {
            return f64::INFINITY;
        };
        let most = match (self.mill(), shop.drill_presses.first()) {
            (Some(mill), _) => mill.drills_to,
            (None, Some(press)) => press.drills_to,
            (None, None) => return f64::INFINITY,
        };
        let soft = self.part.material.modulus < 180_000.0;
        most * if soft { 1.5 } else { 1.0 }
    }

    /// No end mill and no boring head turns in a drill press: its chuck lets go under side load.
    fn no_milling_on_the_press(&mut self) {
        let mut met = false;
        for set_up in &mut self.setups {
            if !set_up.machine.starts_with("drill press") {
                continue;
            }
            for step in &mut set_up.steps {
                let sideways = ["end mill", "fly cutter", "boring head"];
                if sideways.iter().any(|w| step.tool.starts_with(w)) {
                    step.text = format!("Not here, on a mill: {}", step.text);
                    step.rpm = None;
                    step.feed = None;
                    met = true;
                }
            }
        }
        if met && !self.findings.iter().any(|f| f.grade == Grade::Cannot) {
            self.finding(
                Grade::Cannot,
                "it wants a mill: no end mill turns in a drill press, whose chuck lets go under side load",
                "order the part, or have it milled at the places of its sheet",
            );
        }
    }

    pub(super) fn finish(mut self) -> (Sheet, Vec<Finding>) {
        self.setups.retain(|s| !s.steps.is_empty());
        super::too_fast::findings(&mut self);
        self.no_milling_on_the_press();
        let order = self
            .findings
            .iter()
            .find(|f| f.grade == Grade::Cannot && f.advice.starts_with("order the part"));
        if let (Some(why), Some(first)) = (order, self.setups.first_mut()) {
            first.cautions.insert(
                0,
                format!(
                    "Order this part: {}. What follows is for a shop that can.",
                    why.text
                ),
            );
        }
        let mut number = 0;
        let mut minutes = 0.0;
        let count = self.part.count.max(1) as f64;
        for set_up in &mut self.setups {
            minutes += set_up.minutes;
            for step in &mut set_up.steps {
                number += 1;
                step.number = number;
                minutes += step.minutes * count;
            }
        }
        let round = |m: f64| (m / 5.0).ceil() * 5.0;
        let sheet = Sheet {
            part: self.part.name.clone(),
            count: self.part.count,
            setups: self.setups,
            minutes: [
                round(minutes * SPREAD[0]),
                round(minutes),
                round(minutes * SPREAD[1]),
            ],
        };
        (sheet, self.findings)
    }
}

/// Plus or minus of ISO 2768-1, class m (medium), for a length, mm.
pub fn general(length: f64) -> f64 {
    // Over, up to, plus or minus (ISO 2768-1 table 1, from memory).
    const TABLE: [(f64, f64); 7] = [
        (6.0, 0.1),
        (30.0, 0.2),
        (120.0, 0.3),
        (400.0, 0.5),
        (1000.0, 0.8),
        (2000.0, 1.2),
        (4000.0, 2.0),
    ];
    let row = TABLE.iter().find(|(up_to, _)| length <= *up_to);
    row.map_or(2.0, |r| r.1)
}

/// Flute of a short end mill, mm: nearly twice its diameter and five (DIN 844-1 short series, from memory: 4 mm has 11, 10 mm 22, 16 mm 32).
pub(super) fn flute(cutter: f64) -> f64 {
    1.75 * cutter + 4.5
}

/// What the tool is called that goes so deep: a long one where a short one does not reach.
pub(super) fn mill_for(work: &Work, cutter: f64, deep: f64) -> String {
    let own = work.tool("end mill", cutter);
    if deep > flute(cutter) {
        format!("{own}, long series")
    } else {
        own
    }
}

/// An end mill that has to cut deeper than its flutes reach is a finding.
pub(super) fn long_cutter(work: &mut Work, cutter: f64, deep: f64, what: &str) {
    if deep > flute(cutter) {
        let (d, deep, reach) = (
            work.tool("end mill", cutter),
            work.mm(deep),
            work.mm((flute(cutter) * 2.0).round() / 2.0),
        );
        work.on_mill(
            Grade::WayRound,
            format!("{what} is {deep} deep, a short {d} cuts {reach}"),
            "drill most of it out in a row first, then a long-series end mill, light passes; or a wider slot",
        );
    }
}

/// Minutes of cutting: a length at a feed and speed.
pub(super) fn cutting(length: f64, feed: f64, rpm: f64) -> f64 {
    length / (feed * rpm).max(1.0)
}
