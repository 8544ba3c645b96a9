//! What all elements share: the machine, what it asks, and what is collected.

use super::answers::{Buy, Checked, Figure, Fits, Item, Kind, Size, WouldDo};
use super::room::{material, stock};
use super::say;
use crate::answers::{Finding, Held, Inside, Severity};
use crate::assemble::Joint;
use crate::load::rig::{Found, Rig};
use crate::load::service::{Peak, Service, Turned};
use elements::{Check, Fit, Limits, Source};
use machine::fitting::Sized;
use machine::making::Of;
use machine::model::{FRAME, PartId, PointId};
use machine::work::{Material, Section};
use machine::{Machine, Place};
use mechanics::model::Constraint;

/// Factor wanted on yield and rupture where the file says nothing (common practice where loads are known).
const FACTOR: f64 = 2.0;

/// Shares of what is borne need no second figure.
const LIMIT: &str = "of the limit";

pub(crate) struct Study<'s> {
    pub(crate) machine: &'s Machine,
    pub(crate) rig: &'s Rig<'s>,
    pub(crate) service: &'s Service,
    /// What comes again and again.
    pub(crate) working: &'s Service,
    pub(crate) items: Vec<Item>,
    pub(crate) buy: Vec<Buy>,
    pub(crate) findings: Vec<Finding>,
    pub(crate) assumed: Vec<String>,
}

/// An element that is being put together.
pub(crate) struct Draft {
    pub(crate) item: Item,
    pub(crate) place: Place,
    /// What to try where nothing of a table is offered.
    pub(crate) instead: Option<String>,
    /// Why nothing is offered, whatever passes of what is checked.
    unoffered: Option<String>,
}

impl<'s> Study<'s> {
    /// Factor wanted on strengths.
    pub(crate) fn factor(&self) -> f64 {
        self.machine.work.usual.factor.unwrap_or(FACTOR)
    }

    pub(crate) fn point(&self, point: PointId) -> &'s str {
        self.machine.points.get(point).map_or("", |p| &p.name)
    }

    pub(crate) fn part(&self, part: PartId) -> &'s str {
        self.machine.parts.get(part).map_or("", |p| &p.name)
    }

    /// What a hole is in, as it stands at the bench: of the frame the plates that carry its point.
    pub(super) fn holder(&self, hole: &machine::fitting::Hole) -> String {
        let pieces = self.machine.work.making.pieces.iter();
        let plates: Vec<&str> = pieces
            .filter(|p| matches!(&p.of, Of::Frame(points) if hole.part == FRAME && points.contains(&hole.point)))
            .map(|p| p.name.as_str())
            .collect();
        if plates.is_empty() {
            self.part(hole.part).to_owned()
        } else {
            plates.join(" and ")
        }
    }

    /// The material of a part, or steel.
    pub(crate) fn material_of(&self, part: PartId) -> Option<&'s Material> {
        material(self.machine, stock(self.machine, part))
    }

    /// The given steel.
    pub(crate) fn steel(&self) -> Option<&'s Material> {
        self.machine
            .work
            .materials
            .iter()
            .find(|m| m.name == "steel")
    }

    /// Joints that press on a part at a point; on anything there when no part is named.
    pub(crate) fn joints_at(&self, point: PointId, part: Option<PartId>) -> Vec<usize> {
        let model = self.rig.model;
        let touches = |found: &Found| match *found {
            Found::Pin(c) => matches!(
                model.joints.get(c),
                Some(Joint::Pin { point: p, parts }) if *p == point && part.is_none_or(|part| parts.contains(&part))
            ),
            Found::Rod(c) => self.rod_end_at(c, point, part).is_some(),
            _ => false,
        };
        let all = self.rig.found.iter().enumerate();
        all.filter(|(_, f)| touches(f)).map(|(j, _)| j).collect()
    }

    /// Which end of a rod, 0 or 1, is on a pin at a point that a part carries.
    pub(crate) fn rod_end_at(
        &self,
        constraint: usize,
        point: PointId,
        part: Option<PartId>,
    ) -> Option<usize> {
        let model = self.rig.model;
        let Some(Joint::Rod(rod)) = model.joints.get(constraint) else {
            return None;
        };
        let Constraint::Rod { a, b, .. } = *self.rig.mechanism.constraints.get(constraint)? else {
            return None;
        };
        let joins = model.machine.rods.get(*rod)?.joins;
        let end = joins.iter().position(|p| *p == point)?;
        let anchor = if end == 0 { a } else { b };
        let body = self.rig.mechanism.anchors.get(anchor)?.body;
        part.is_none_or(|part| part == body).then_some(end)
    }

    /// How one of these joints shares its load is not determined: nothing is sized by it.
    pub(crate) fn unshared(&self, draft: &mut Draft, joints: &[usize]) {
        let service = |j: &usize| self.service.joints.get(*j);
        if joints.iter().filter_map(service).any(|s| s.undetermined) {
            draft.item.would_do = None;
            draft.assume("how it shares the load with joints that repeat it is not determined: its force is one way of many");
        }
    }

    /// The hardest pressed of these joints.
    pub(crate) fn hardest(&self, joints: &[usize]) -> Option<(usize, &'s Peak)> {
        let peaks = joints
            .iter()
            .filter_map(|&j| Some((j, &self.service.joints.get(j)?.most)));
        peaks.max_by(|a, b| a.1.value.total_cmp(&b.1.value))
    }

    /// How often a minute a drive goes round or to and fro.
    pub(crate) fn per_minute(&self, turned: &Turned) -> Option<f64> {
        self.machine
            .work
            .per_minute
            .get(turned.drive)
            .copied()
            .flatten()
    }

    /// Says of stock that nobody keeps that it has to be made, and of what.
    pub(crate) fn unstocked(&self, draft: &mut Draft, section: Section) {
        let listed = !matches!(section, Section::Square(_) | Section::Hexagon(_));
        if !listed || elements::stock::stocked(super::levers::of(section)) {
            return;
        }
        let size = |mm: f64| super::say::size(mm, self.machine);
        let next = |list: Vec<f64>, from: f64| list.into_iter().find(|s| *s >= from - 1e-6);
        let words = match section {
            Section::Round(d) => {
                let bar = next(self.rounds(), d);
                format!(
                    "round bar of {} is not commonly stocked{}",
                    size(d),
                    bar.map_or_else(String::new, |b| format!(": turned from {}", size(b)))
                )
            }
            Section::Flat([thick, _]) => {
                let plates = if super::pins::is_inch(self.machine) {
                    elements::stock::inches(&elements::stock::PLATE_INCH)
                } else {
                    elements::stock::PLATE_METRIC.to_vec()
                };
                let bar = next(plates, thick);
                format!(
                    "flat bar {} thick is not commonly stocked{}",
                    size(thick),
                    bar.map_or_else(String::new, |b| format!(": milled from {}", size(b)))
                )
            }
            Section::Tube([outside, inside]) => format!(
                "tube of {} x {} is not among the sizes commonly stocked: ask for it, or bore it from round bar",
                size(outside),
                size(inside)
            ),
            Section::Square(_) | Section::Hexagon(_) => return,
        };
        draft.assume(words);
    }

    /// Notes what strength a material without a grade was given.
    pub(crate) fn grade(&mut self, material: &Material) {
        let known = strength(material).map(|s| say::value(s, "MPa", self.machine));
        let word = if material.yields.is_some() {
            "yield"
        } else {
            "rupture"
        };
        let text = match (material.taken_as, known) {
            (Some(grade), Some(s)) if grade != material.name => {
                format!("{} is reckoned as {grade}, {word} {s}", material.name)
            }
            (_, Some(s)) => {
                let origin = material
                    .strength_source
                    .map_or_else(|| String::from("the machine file"), source);
                let spread = say_level(material);
                format!("{}: {word} {s}{spread} ({origin})", material.name)
            }
            (_, None) => format!("no strength is known for {}: not checked", material.name),
        };
        if !self.assumed.contains(&text) {
            self.assumed.push(text);
        }
    }

    /// A check in the worst pose.
    pub(crate) fn check(&self, check: &Check, wanted: f64, peak: Option<&Peak>) -> Checked {
        let factor = check.factor();
        let finite = factor.is_finite();
        let [acts, bears] =
            [check.acts, check.bears].map(|v| say::value(v, check.unit, self.machine));
        let peak = peak.filter(|p| !p.drives.is_empty());
        let at = peak.map_or_else(Vec::new, |p| self.held(&p.drives));
        let case = peak.and_then(|p| self.service.cases.get(p.case).cloned());
        Checked {
            worst: worst(&at, case.as_deref()),
            what: check.what.to_owned(),
            acts: check.acts,
            bears: check.bears.is_finite().then_some(check.bears),
            unit: check.unit.to_owned(),
            shown: if check.unit == LIMIT {
                acts
            } else {
                format!("{acts} of {bears}")
            },
            factor: finite.then_some(factor),
            times: finite.then(|| say::factor(factor)),
            wanted,
            passes: check.passes(wanted),
            margin: finite.then_some(factor - wanted),
            case,
            at,
            source: check.source.text.to_owned(),
            sure: check.source.confidence.words().to_owned(),
        }
    }

    /// Where the drives stand.
    fn held(&self, drives: &[f64]) -> Vec<Held> {
        let model = self.rig.model;
        let all = drives.iter().enumerate().zip(&self.machine.drives);
        all.map(|((i, &value), d)| Held {
            quantity: model.drive(i),
            value,
            as_drawn: value == d.drawn,
        })
        .collect()
    }

    pub(crate) fn size(&self, what: &str, sized: &Sized) -> Size {
        let Limits { nominal, .. } = sized.limits;
        Size {
            what: what.to_owned(),
            nominal,
            class: sized.class.clone(),
            least: sized.limits.least(),
            most: sized.limits.most(),
            shown: format!(
                "{} {}: {} to {}",
                say::size(nominal, self.machine),
                sized.class,
                say::close_bare(sized.limits.least(), self.machine),
                say::close(sized.limits.most(), self.machine)
            ),
            source: source(sized.source),
        }
    }

    pub(crate) fn figure(
        &self,
        what: &str,
        value: f64,
        unit: &str,
        origin: Source,
        sentence: String,
    ) -> Figure {
        Figure {
            what: what.to_owned(),
            value,
            to: None,
            unit: unit.to_owned(),
            source: source(origin),
            sentence,
        }
    }

    /// Says something of an element.
    pub(crate) fn say(
        &mut self,
        severity: Severity,
        draft: &Draft,
        sentence: String,
        try_this: Option<String>,
    ) {
        self.findings.push(Finding {
            severity,
            sentence,
            number: None,
            margin: None,
            inside: None,
            what_to_try: try_this,
            about: draft.item.about.clone(),
            place: draft.place,
        });
    }

    /// Takes up an element: its checks become findings, the worst of each.
    pub(crate) fn done(&mut self, mut draft: Draft) {
        // The least to spare first, in file order where equal.
        let spare = |c: &Checked| c.factor.map_or(f64::INFINITY, |f| f / c.wanted);
        draft
            .item
            .checks
            .sort_by(|a, b| spare(a).total_cmp(&spare(b)));
        if let Some(why) = draft.unoffered.take()
            && draft.item.would_do.take().is_some()
        {
            draft.assume(format!("nothing else is offered: {why}"));
        }
        let would_do = draft.item.would_do.as_ref().and_then(|w| w.what.clone());
        let failed: Vec<Checked> = draft
            .item
            .checks
            .iter()
            .filter(|c| !c.passes)
            .cloned()
            .collect();
        // One cause, one finding: the worst, with what fails beside it.
        if let Some((check, others)) = failed.split_first() {
            let try_this = match (&would_do, &draft.item.would_do) {
                (Some(what), _) => Some(format!("{what} would do here")),
                (None, Some(tried)) => Some(format!(
                    "nothing of {} does it: {}",
                    tried.from,
                    draft
                        .instead
                        .as_deref()
                        .unwrap_or("share the load, lessen it, or take a stronger material")
                )),
                (None, None) => draft.instead.clone(),
            };
            self.judged(Severity::Miss, &draft, check, others, try_this);
        }
        if failed.is_empty()
            && let Some(check) = draft
                .item
                .checks
                .first()
                .filter(|c| c.factor.is_some())
                .cloned()
        {
            self.judged(Severity::Kept, &draft, &check, &[], None);
        }
        self.items.push(draft.item);
    }

    fn judged(
        &mut self,
        severity: Severity,
        draft: &Draft,
        check: &Checked,
        others: &[Checked],
        try_this: Option<String>,
    ) {
        let also: Vec<String> = others
            .iter()
            .map(|c| {
                let times = c.factor.unwrap_or(f64::MAX);
                format!("{} ({} times)", c.what, say::factor(times))
            })
            .collect();
        let also = if also.is_empty() {
            String::new()
        } else {
            format!("; {} too", also.join(", "))
        };
        let factor = check.factor.unwrap_or(f64::MAX);
        let place = if check.worst.is_empty() {
            String::new()
        } else {
            format!(" {}", check.worst)
        };
        let sentence = format!(
            "{}, {}: {} is {}, {} times where {} are wanted{place} ({}){also}",
            draft.item.what,
            draft.item.at,
            check.what,
            check.shown,
            say::factor(factor),
            say::factor(check.wanted),
            check.source
        );
        self.findings.push(Finding {
            severity,
            sentence,
            number: check.factor,
            margin: check.margin,
            inside: Some(Inside::Count),
            what_to_try: try_this,
            about: draft.item.about.clone(),
            place: draft.place,
        });
    }

    /// Notes something to buy; the same things are counted together.
    pub(crate) fn buy(&mut self, count: u32, what: &str, place: &str) {
        match self.buy.iter_mut().find(|b| b.what == what) {
            Some(known) => {
                known.count += count;
                known.places.push(place.to_owned());
            }
            None => self.buy.push(Buy {
                count,
                what: what.to_owned(),
                places: vec![place.to_owned()],
            }),
        }
    }

    /// How an interference is pressed together with what the shop has, as the end of a sentence.
    pub(crate) fn pressed_by(&self, force: f64) -> (String, bool) {
        let Some(shop) = &self.machine.work.shop else {
            return (String::new(), true);
        };
        let mut able: Vec<_> = shop.squeezers.iter().filter(|s| s.force >= force).collect();
        // A press goes before a vise, whose jaw springs and pushes askew.
        able.sort_by(|a, b| a.vise.cmp(&b.vise).then(a.force.total_cmp(&b.force)));
        // `[vise.mill]` is the mill vise.
        let called = |s: &machine::equipment::Squeezer| {
            let own = shop::words::spoken(&s.name);
            let word = if s.vise { "vise" } else { "press" };
            if own.ends_with(word) {
                own
            } else {
                format!("{own} {word}")
            }
        };
        if let Some(s) = able.first() {
            return (format!("; your {} manages that", called(s)), true);
        }
        let best = shop
            .squeezers
            .iter()
            .max_by(|a, b| a.force.total_cmp(&b.force));
        match best {
            Some(s) => (
                format!(
                    "; your strongest, the {}, gives {}",
                    called(s),
                    say::value(s.force, "N", self.machine)
                ),
                false,
            ),
            None => (
                String::from("; the shop file names no press and no vise"),
                false,
            ),
        }
    }
}

/// "at set = 70 deg, under embossing"; empty where nothing is known.
fn worst(at: &[Held], case: Option<&str>) -> String {
    let at: Vec<String> = at
        .iter()
        .map(|h| crate::say::at(&h.quantity, h.value))
        .collect();
    match (case, at.is_empty()) {
        (Some(case), false) => format!("at {}, under {case}", at.join(", ")),
        (Some(case), true) => format!("under {case}"),
        (None, false) => format!("at {}", at.join(", ")),
        (None, true) => String::new(),
    }
}

/// The limit of a material for stress: yield, or rupture for what breaks without.
pub(crate) fn strength(material: &Material) -> Option<f64> {
    material.yields.or(material.tensile)
}

/// What the strength of a grade is worth: ", the least warranted".
fn say_level(material: &Material) -> &'static str {
    use elements::materials::Level;
    match elements::materials::find(&material.name).map(|m| m.level) {
        Ok(Level::Minimum) => ", the least that is warranted",
        Ok(Level::Typical) => ", as is usual: single bars differ by a tenth and more",
        Err(_) => "",
    }
}

/// A source with how sure it is, when it is not plain.
pub(crate) fn source(source: Source) -> String {
    use elements::Confidence;
    match source.confidence {
        Confidence::LookedUp | Confidence::Derived => source.text.to_owned(),
        _ => format!("{}; {}", source.text, source.confidence.words()),
    }
}

pub(crate) fn fits(what: &str, fit: &Fit, machine: &Machine) -> Fits {
    play(what, fit.least_clearance(), fit.most_clearance(), machine)
}

/// Clearance between two ends, with its words.
pub(crate) fn play(what: &str, least: f64, most: f64, machine: &Machine) -> Fits {
    // A hair below nothing is nothing.
    let (low, high) = (least + 0.0, most + 0.0);
    let likely = f64::midpoint(low, high);
    let middle = say::close_bare(likely.abs(), machine);
    let shown = if low >= -1e-9 {
        format!(
            "{} to {} of play, likely {middle}",
            say::close_bare(low.max(0.0), machine),
            say::close(high, machine)
        )
    } else if high <= 1e-9 {
        format!(
            "{} to {} of interference, likely {middle}",
            say::close_bare((-high).max(0.0), machine),
            say::close(-low, machine)
        )
    } else {
        format!(
            "{} of interference to {} of play, likely {middle} of {}",
            say::close(-low, machine),
            say::close(high, machine),
            if likely < 0.0 { "interference" } else { "play" }
        )
    };
    Fits {
        what: what.to_owned(),
        least,
        most,
        likely,
        shown,
    }
}

impl Draft {
    pub(crate) fn new(kind: Kind, what: String, at: String, about: String, place: Place) -> Self {
        Self {
            item: Item {
                what,
                kind,
                at,
                about,
                sizes: Vec::new(),
                fits: Vec::new(),
                figures: Vec::new(),
                checks: Vec::new(),
                faults: Vec::new(),
                would_do: None,
                assumed: Vec::new(),
            },
            place,
            instead: None,
            unoffered: None,
        }
    }

    /// Not everything that decides is checked: nothing is said to do.
    pub(crate) fn unoffered(&mut self, why: impl Into<String>) {
        self.unoffered.get_or_insert(why.into());
    }

    pub(crate) fn assume(&mut self, text: impl Into<String>) {
        let text = text.into();
        if !self.item.assumed.contains(&text) {
            self.item.assumed.push(text);
        }
    }

    pub(crate) fn would_do(
        &mut self,
        what: Option<String>,
        from: impl Into<String>,
        smaller: bool,
    ) {
        self.item.would_do = Some(WouldDo {
            what,
            from: from.into(),
            smaller,
        });
    }
}
