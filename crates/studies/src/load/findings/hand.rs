//! What a hand feels at a drive: effort, jams, detents, and what happens when it lets go.

use super::{CaseLoads, HURTS, Inside, LetGo, Loads, Ready, Say, Severity, say};
use crate::answers::Finding;
use crate::load::answers::{DriveForce, DriveWorst, LoadRow};
use machine::model::Drive;

/// Arm at which a moment without a hand is taken to hit somebody, mm (own choice: a hand's breadth).
const NO_HAND: f64 = 100.0;

/// A drive under a case.
struct Told<'a> {
    ready: &'a Ready<'a, 'a>,
    case: &'a CaseLoads,
    index: usize,
    drive: &'a Drive,
    worst: &'a DriveWorst,
    turns: bool,
}

/// Everything about every drive of a case.
pub(super) fn tell(ready: &Ready<'_, '_>, say: &mut Say<'_>, case: &CaseLoads) {
    for (index, worst) in case.drives.iter().enumerate() {
        let told = Told {
            ready,
            case,
            index,
            drive: &ready.rig.model.machine.drives[index],
            worst,
            turns: crate::run::turns(ready.rig.model, index),
        };
        told.jams(say);
        told.idle(say);
        told.pulls(say);
        told.effort(say);
        told.let_go(say);
    }
}

impl Told<'_> {
    fn force(&self, row: usize) -> Option<&DriveForce> {
        self.case.rows.get(row)?.drives.get(self.index)
    }

    fn forces(&self) -> impl Iterator<Item = (usize, &LoadRow, &DriveForce)> {
        let rows = self.case.rows.iter().enumerate();
        rows.filter_map(|(i, row)| Some((i, row, row.drives.get(self.index)?)))
    }

    /// A moment or force of the drive itself.
    fn shown(&self, value: f64) -> String {
        say::either(value, self.turns, &self.ready.rig.model.machine)
    }

    fn add<'s>(
        &self,
        say: &'s mut Say<'_>,
        severity: Severity,
        sentence: String,
        number: Option<(f64, Inside)>,
    ) -> &'s mut Finding {
        let about = format!("drive.{}", self.drive.name);
        say.add(severity, sentence, number, about, self.drive.place)
    }

    fn jams(&self, say: &mut Say<'_>) {
        for (way, backwards) in [("on", false), ("back", true)] {
            let jam = self.forces().find_map(|(i, _, force)| {
                let jams = if backwards {
                    &force.jams_back
                } else {
                    &force.jams_on
                };
                Some((i, jams.clone()?))
            });
            if let Some((row, joint)) = jam {
                let sentence = format!(
                    "{} jams when moved {way} {}: {joint} binds by its friction",
                    self.drive.name,
                    say.place_of(self.case, row)
                );
                self.add(say, Severity::Fault, sentence, None).what_to_try = Some(String::from(
                    if joint.starts_with("slide") {
                        "lengthen the guide, grease it, or let the force act nearer to it"
                    } else if joint.starts_with("slot") {
                        "let the slot lie steeper to the way that drives it, grease it, or put a roller in it"
                    } else {
                        "make its pin smaller, grease it, or let the force pass farther from its centre"
                    },
                ));
            }
        }
    }

    /// The hand cannot move the drive somewhere.
    fn idle(&self, say: &mut Say<'_>) {
        let idle = self.forces().find(|(_, _, force)| force.hand_idle);
        let (Some((row, ..)), Some(hand)) = (idle, &self.worst.hand) else {
            return;
        };
        let sentence = format!(
            "{} cannot be moved from {hand} {}: {hand} stands still there, or is pushed straight across its way",
            self.drive.name,
            say.place_of(self.case, row)
        );
        self.add(say, Severity::Caution, sentence, None).what_to_try = Some(String::from(
            "something must carry it over, such as a flywheel; or let the hand push another way",
        ));
    }

    /// A hand that only pushes would have to pull somewhere.
    fn pulls(&self, say: &mut Say<'_>) {
        let on = |f: &DriveForce| f.must_pull[0];
        let rows: Vec<usize> = self.forces().filter(|r| on(r.2)).map(|r| r.0).collect();
        let (Some(&row), Some(hand)) = (rows.first(), &self.worst.hand) else {
            return;
        };
        let anywhere = self.forces().all(|r| on(r.2));
        let sentence = format!(
            "{} cannot be moved on by a push at {hand} {}: it would have to be pulled there",
            self.drive.name,
            if anywhere {
                format!("anywhere under {}", self.case.case)
            } else {
                let place = say.place_of(self.case, row);
                let stretch = self.stretch_of(say.loads, &rows);
                stretch
                    .strip_suffix(", most ")
                    .map_or(place, |s| format!("{s}, under {}", self.case.case))
            }
        );
        self.add(say, Severity::Caution, sentence, None).what_to_try = Some(String::from(
            "something must carry it over, such as a flywheel or a spring; or let the hand push another way",
        ));
    }

    /// ", pushed down," for a hand with a direction of its own.
    fn pushed(&self, force: &DriveForce) -> String {
        let (Some([along, against]), Some(way)) = (&self.worst.hand_ways, force.hand_way) else {
            return String::new();
        };
        let on = if self.worst.moving_on { way } else { -way };
        format!(", pushed {},", if on > 0.0 { along } else { against })
    }

    fn effort(&self, say: &mut Say<'_>) {
        let (Some(row), Some(effort)) = (self.worst.hardest, self.worst.effort) else {
            return;
        };
        let Some(force) = self.force(row) else {
            return;
        };
        let jams = |f: &DriveForce| f.jams_on.is_some() || f.jams_back.is_some();
        // Nothing drives it, or it jams, which is told.
        let free = self.forces().all(|(_, _, force)| force.free == 0.0);
        if effort == 0.0 && (free || self.forces().any(|(_, _, force)| jams(force))) {
            return;
        }
        let (at_hand, is_moment) = match &self.worst.hand {
            Some(point) => (format!(" at {point}"), false),
            None => (String::new(), self.turns),
        };
        let way = match (self.worst.hardest_closes, self.worst.moving_on) {
            (Some(closes), on) if closes == on => "to close",
            (Some(_), _) => "to open",
            (None, true) => "to go on",
            (None, false) => "to go back",
        };
        let efficiency = if self.worst.moving_on {
            force.efficiency_on
        } else {
            force.efficiency_back
        };
        let wasted = efficiency
            .map(|e| format!(", {} of it reaches the work", say::percent(e)))
            .unwrap_or_default();
        let pushed = self.pushed(force);
        let lifted = if force.lifts.is_some() {
            ", its detent lifted out of the notch too"
        } else {
            ""
        };
        let sentence = format!(
            "{} needs up to {}{at_hand}{pushed} {way} {}{wasted}{lifted}",
            self.drive.name,
            say::either(effort, is_moment, &self.ready.rig.model.machine),
            say.place_of(self.case, row)
        );
        let number = Some((effort, Inside::of_load(is_moment)));
        self.add(say, Severity::Note, sentence, number);
    }

    fn let_go(&self, say: &mut Say<'_>) {
        let mut runs = false;
        for way in [1.0, -1.0] {
            runs |= self.runs(say, way);
        }
        let (Some(row), Some(let_go)) = (self.worst.loosest, &self.worst.let_go) else {
            return;
        };
        if runs || let_go.pushed == 0.0 {
            return;
        }
        let place = say.place_of(self.case, row);
        if let Some(stop) = &let_go.rests_on {
            let pressed = self.force(row).map_or(0.0, |f| f.free.abs());
            let sentence = format!(
                "{} stays when let go {place}: it is pressed against {stop} with {}",
                self.drive.name,
                self.shown(pressed)
            );
            let number = Some((pressed, Inside::of_load(self.turns)));
            self.add(say, Severity::Note, sentence, number);
            return;
        }
        let times = let_go.factor.map_or_else(
            || String::from("by friction alone, whatever the load"),
            |f| format!("{f:.2} times over"),
        );
        let mostly = match let_go.by.first() {
            Some(b) if let_go.friction >= let_go.detent => {
                format!(", mostly by {} ({})", b.joint, say::percent(b.share))
            }
            _ if let_go.detent > 0.0 => String::from(", mostly by its detent"),
            _ => String::new(),
        };
        let sentence = format!(
            "{} stays when let go {place}: held {times}{mostly}",
            self.drive.name
        );
        let number = let_go.factor.map(|f| (f, Inside::Count));
        self.add(say, Severity::Note, sentence, number);
    }

    /// Tells where the drive runs this way by itself; whether it does.
    fn runs(&self, say: &mut Say<'_>, way: f64) -> bool {
        let running: Vec<(usize, &LoadRow, &DriveForce, &LetGo)> = self
            .forces()
            .filter_map(|(i, row, force)| Some((i, row, force, force.let_go.as_ref()?)))
            .filter(|(.., l)| !l.stays && l.pushed == way)
            .collect();
        let lacks = |l: &LetGo| (l.to_hold - l.detent).max(0.0);
        let worst = running
            .iter()
            .max_by(|a, b| lacks(a.3).total_cmp(&lacks(b.3)));
        let Some(&(row, _, force, let_go)) = worst else {
            return false;
        };
        let lacking = lacks(let_go);
        let holds = match let_go.factor {
            _ if let_go.detent > 0.0 => "friction and detent hold",
            _ => "friction holds",
        };
        let share = let_go
            .factor
            .map_or_else(|| String::from("none"), say::percent);
        let (felt, at_hand) = match (force.hand_arm, &self.worst.hand) {
            (Some(arm), Some(hand)) if arm > 0.0 => {
                let felt = lacking / arm;
                let told = say::force(felt, &self.ready.rig.model.machine);
                (felt, format!(" ({told} at {hand})"))
            }
            _ if self.turns => (lacking / NO_HAND, String::new()),
            _ => (lacking, String::new()),
        };
        let places: Vec<usize> = running.iter().map(|r| r.0).collect();
        let hurts = felt >= HURTS;
        let sentence = format!(
            "{} runs {} by itself when let go {}{}: {holds} {share} of what drives it, {}{at_hand} is lacking{}",
            self.drive.name,
            if way > 0.0 { "on" } else { "back" },
            self.stretch_of(say.loads, &places),
            say.place_of(self.case, row),
            self.shown(lacking),
            if hurts {
                "; keep hands and faces out of its way"
            } else {
                ""
            },
        );
        let severity = if hurts {
            Severity::Caution
        } else {
            Severity::Note
        };
        let number = Some((lacking, Inside::of_load(self.turns)));
        let whole_turn = self.drive.whole_turn;
        self.add(say, severity, sentence, number).what_to_try = Some(String::from(if whole_turn {
            "hold on to it until it has come to rest; where it must stay, a ratchet, a brake or a counterweight"
        } else {
            "add a detent or a clamp, a larger journal, or a shorter arm between load and lever"
        }));
        true
    }

    /// "anywhere from 15 deg to 165 deg, most " for rows in line, nothing for one.
    fn stretch_of(&self, loads: &Loads, rows: &[usize]) -> String {
        let value = |row: Option<&usize>| self.case.rows.get(*row?)?.at;
        let (Some(first), Some(last), Some(moved)) =
            (value(rows.first()), value(rows.last()), &loads.drive)
        else {
            return String::new();
        };
        if first == last {
            return String::new();
        }
        let gaps = rows.windows(2).filter(|w| w[1] != w[0] + 1).count();
        let unit = moved.unit;
        let between = format!(
            "from {} to {}",
            crate::say::short(first, unit),
            crate::say::short(last, unit)
        );
        match gaps {
            0 if rows.len() == self.case.rows.len() => String::from("anywhere, most "),
            0 => format!("anywhere {between}, most "),
            _ => format!("in places {between}, most "),
        }
    }
}

/// Every detent: what it holds, and what it takes to lift it out of its notch.
pub(super) fn detents(ready: &Ready<'_, '_>, say: &mut Say<'_>) {
    let machine = &ready.rig.model.machine;
    let loads = say.loads;
    for (detent, own) in loads.detents.iter().zip(&machine.work.detents) {
        let turns = crate::run::turns(ready.rig.model, own.drive);
        let (sentence, number) = match (detent.holds[0], detent.holds[1]) {
            (Some(holds), Some(lifts)) => {
                let at_hand = at_hand(loads, own.drive, own.at)
                    .map(|(arm, hand)| format!(", {} at {hand}", say::force(lifts / arm, machine)));
                (
                    format!(
                        "detent {} holds at least {}; to lift out of it takes up to {}{}",
                        detent.name,
                        say::either(holds, turns, machine),
                        say::either(lifts, turns, machine),
                        at_hand.unwrap_or_default()
                    ),
                    (holds, Inside::of_load(turns)),
                )
            }
            _ => (
                format!(
                    "detent {} locks: its flank is too steep to be lifted across, friction high; it is drawn with {}, and more when something presses on it",
                    detent.name,
                    say::force(own.spring, machine)
                ),
                (own.spring, Inside::Newton),
            ),
        };
        let about = format!("detent.{}", own.name);
        say.add(Severity::Note, sentence, Some(number), about, own.place);
    }
}

/// The hand's arm of a drive, nearest to a value of it, and where it takes hold.
fn at_hand(loads: &Loads, drive: usize, value: f64) -> Option<(f64, String)> {
    let case = loads.cases.first()?;
    let hand = case.drives.get(drive)?.hand.clone()?;
    let moved = loads.drive.as_ref().map(|d| &d.name) == Some(&case.drives.get(drive)?.drive.name);
    let arms = case
        .rows
        .iter()
        .filter_map(|row| Some((row.at, row.drives.get(drive)?.hand_arm?)));
    let off = |at: Option<f64>| at.filter(|_| moved).map_or(0.0, |at| (at - value).abs());
    let nearest = arms.min_by(|a, b| off(a.0).total_cmp(&off(b.0)))?;
    (nearest.1 > 0.0).then_some((nearest.1, hand))
}

/// A word on hands, for every load between faces that close on it.
pub(super) fn closing(ready: &Ready<'_, '_>, say: &mut Say<'_>) {
    let machine = &ready.rig.model.machine;
    for load in &machine.work.loads {
        let machine::work::LoadKind::Squeezes { reading, .. } = load.kind else {
            continue;
        };
        let Some(reading) = machine.readings.get(reading) else {
            continue;
        };
        let most = say.acted(&format!("load {}", load.name));
        if most < HURTS {
            continue;
        }
        let sentence = format!(
            "{} closes with up to {}, and {} can hurt (ISO 14120, from memory): keep hands out while anything can move, and guard it",
            reading.name,
            say::force(most, machine),
            say::force(HURTS, machine).replace(".0 ", " ")
        );
        let about = format!("load.{}", load.name);
        let number = Some((most, Inside::Newton));
        say.add(Severity::Caution, sentence, number, about, load.place)
            .what_to_try = Some(String::from("local machine guarding rules come first"));
    }
}
