//! Loads as tables: for reading and for a spreadsheet.

use std::fmt::Write as _;

use machine::Sources;
use quantity::Unit;
use studies::load::answers::{
    CaseLoads, DriveForce, DriveWorst, JointKind, LetGo, LoadRow, LostMotion, ReadingPlay, Stretch,
};
use studies::{Finding, Quantity, Severity};

use super::WIDTH;
use super::check::finding_text;
use super::csv;
use super::numbers::{
    NONE, bare, bare_or_none, named, percent, standing, unit_of_force, with_unit,
};
use super::report::Loaded;
use super::table::{Column, lay_out, wrap};

/// Members and joints told of under a reading.
const TOLD: usize = 3;

/// What is shown, and how.
pub(super) struct Shown<'a> {
    pub(super) answer: &'a Loaded,
    pub(super) most: usize,
    pub(super) length: Unit,
    pub(super) sources: &'a Sources,
    pub(super) colour: bool,
}

/// For reading.
pub(super) fn text(shown: &Shown) -> String {
    let answer = shown.answer;
    let loads = &answer.loads;
    let moved = loads.drive.as_ref().map_or_else(
        || String::from("as it stands"),
        |d| format!("{} moved", d.name),
    );
    let mut text = format!("{}: {moved}\n\n", loads.machine);
    for finding in loads.findings.iter().filter(|f| !has_table(shown, f)) {
        text.push_str(&finding_text(finding, shown.sources, shown.colour));
    }
    text.push_str(&joints_text(shown));
    for case in &loads.cases {
        for (index, worst) in case.drives.iter().enumerate() {
            text.push_str(&effort_text(shown, case, index, worst));
        }
        text.push_str(&shafts_text(shown, case));
    }
    for stretch in &answer.stretch {
        text.push_str(&stretch_text(stretch));
    }
    for lost in &answer.lost_motion {
        text.push_str(&play_text(lost));
    }
    text.push_str(&assumed_text(answer));
    text
}

/// A note whose numbers stand in a table below.
fn has_table(shown: &Shown, finding: &Finding) -> bool {
    let mut joints = shown.answer.loads.joints.iter();
    finding.severity == Severity::Note
        && (finding.about.starts_with("reading.")
            || finding.about.starts_with("shaft.")
            || joints.any(|joint| joint.kind != JointKind::Clamp && joint.name == finding.about))
}

fn force(value: f64, is_moment: bool, length: Unit) -> String {
    with_unit(value, unit_of_force(is_moment, length))
}

/// "embossing, set 70.00 deg".
fn place(shown: &Shown, case: &CaseLoads, row: usize) -> String {
    let at = case.rows.get(row).and_then(|row| row.at);
    match (&shown.answer.loads.drive, at) {
        (Some(drive), Some(at)) if shown.answer.loads.cases.len() == 1 => named(drive, at),
        (Some(drive), Some(at)) => format!("{}, {}", case.case, named(drive, at)),
        _ => case.case.clone(),
    }
}

fn joints_text(shown: &Shown) -> String {
    let loads = &shown.answer.loads;
    if loads.worst.is_empty() {
        return String::new();
    }
    let mut most = Column::numbers("most", "");
    let mut way = Column::words("");
    let mut at = Column::words("where");
    let mut name = Column::words("joint");
    for worst in loads.worst.iter().take(shown.most) {
        let (Some(joint), Some(case)) =
            (loads.joints.get(worst.joint), loads.cases.get(worst.case))
        else {
            continue;
        };
        most.cells
            .push(force(worst.most, joint.is_moment, shown.length));
        let word = match worst.pull_and_push {
            Some([pull, push]) if pull > 0.0 && push > 0.0 => "pull and push",
            Some([pull, _]) if pull > 0.0 => "pull",
            Some(_) => "push",
            None => "",
        };
        let word = if worst.undetermined {
            "not determined"
        } else {
            word
        };
        way.cells.push(word.to_owned());
        at.cells.push(place(shown, case, worst.row));
        name.cells.push(joint.name.clone());
    }
    let table = lay_out(&[], &[most, way, at, name]);
    let mut text = format!("\nJoints, each where it is pressed hardest, friction high\n{table}");
    let all = loads.worst.len();
    if all > shown.most {
        let _ = writeln!(
            text,
            "and {} more that carry less (--most {all} shows all)",
            all - shown.most
        );
    }
    text
}

/// What one drive needs in one pose, as a person at the hand feels it.
struct Felt {
    on: Option<f64>,
    back: Option<f64>,
    free: Option<f64>,
    band: Option<f64>,
}

fn felt(force: &DriveForce, hand: bool) -> Felt {
    let pull = |back: Option<f64>| back.map(|b| if b == 0.0 { b } else { -b });
    if hand {
        Felt {
            on: force.hand_on,
            back: pull(force.hand_back),
            free: force.hand_free,
            band: force
                .hand_on
                .zip(force.hand_back)
                .map(|(on, back)| on - back),
        }
    } else {
        Felt {
            on: force.on,
            back: pull(force.back),
            free: Some(force.free),
            band: force.dead_band,
        }
    }
}

/// What moving on, and moving back, is called.
fn ways(worst: &DriveWorst) -> [&'static str; 2] {
    match worst.on_closes {
        Some(true) => ["to close", "to open"],
        Some(false) => ["to open", "to close"],
        None => ["to go on", "to go back"],
    }
}

/// What happens when the hand lets go, in a few words.
fn let_go_words(let_go: &LetGo) -> String {
    if let_go.pushed == 0.0 {
        return String::from("undriven");
    }
    if let Some(stop) = &let_go.rests_on {
        return format!("on {stop}");
    }
    match (let_go.stays, let_go.factor) {
        (true, Some(factor)) => format!("{factor:.2} times"),
        (true, None) => String::from("whatever drives"),
        (false, factor) => {
            let way = if let_go.pushed > 0.0 { "on" } else { "back" };
            format!("{:.2}, RUNS {way}", factor.unwrap_or(0.0))
        }
    }
}

fn has_forces(row: &LoadRow, drive: usize) -> bool {
    row.drives.get(drive).is_some_and(|f| {
        f.on.is_some()
            || f.back.is_some()
            || f.hand_idle
            || f.must_pull.contains(&true)
            || f.jams_on.is_some()
            || f.jams_back.is_some()
    })
}

fn effort_text(shown: &Shown, case: &CaseLoads, index: usize, worst: &DriveWorst) -> String {
    let rows: Vec<&LoadRow> = case
        .rows
        .iter()
        .filter(|row| !row.reached || row.dead_centre || has_forces(row, index))
        .collect();
    if !rows.iter().any(|row| has_forces(row, index)) {
        return String::new();
    }
    let hand = worst.hand.as_deref();
    let is_moment = hand.is_none() && worst.drive.inside == studies::Inside::Radian;
    let unit = unit_of_force(is_moment, shown.length);
    let at_hand = hand.map_or(String::new(), |hand| format!(" at {hand}"));
    let held = standing(&case.held).map_or(String::new(), |held| format!("; {held}"));
    let head = format!(
        "Effort of {}{at_hand} under {}, friction high{held}",
        worst.drive.name, case.case
    );
    let mut text = format!("\n{}\n", wrap(&head, WIDTH, 2));
    let [on_word, back_word] = ways(worst);
    let mut at = Column::numbers(&worst.drive.name, worst.drive.unit.symbol());
    let mut on = Column::numbers(on_word, unit.symbol());
    let mut back = Column::numbers(back_word, unit.symbol());
    let mut free = Column::numbers("frictionless", unit.symbol());
    let mut band = Column::numbers("dead band", unit.symbol());
    let mut useful = Column::numbers("efficiency", "");
    let mut rest = Column::words("let go: held");
    let mut pushed = Column::words("pushed");
    let moved = case.rows.iter().any(|row| row.at.is_some());
    for row in rows {
        at.cells.push(bare_or_none(row.at, worst.drive.unit));
        let Some(force) = row
            .drives
            .get(index)
            .filter(|_| row.reached && !row.dead_centre)
        else {
            for column in [&mut on, &mut back, &mut free, &mut band, &mut useful] {
                column.cells.push(NONE.to_owned());
            }
            pushed.cells.push(String::new());
            rest.cells.push(String::from(if row.dead_centre {
                "dead centre"
            } else {
                "cannot be reached"
            }));
            continue;
        };
        let felt = felt(force, hand.is_some());
        let or_jams = |value: Option<f64>, jams: &Option<String>, pull: bool| match jams {
            _ if pull => String::from("pull"),
            Some(_) => String::from("jams"),
            None if force.hand_idle => String::from("no hand"),
            None => bare_or_none(value, unit),
        };
        on.cells
            .push(or_jams(felt.on, &force.jams_on, force.must_pull[0]));
        back.cells
            .push(or_jams(felt.back, &force.jams_back, force.must_pull[1]));
        free.cells.push(bare_or_none(felt.free, unit));
        band.cells.push(bare_or_none(felt.band, unit));
        let words = worst.hand_ways.as_ref();
        let way = words.zip(force.hand_way.filter(|_| felt.on.is_some()));
        pushed
            .cells
            .push(way.map_or_else(String::new, |([along, against], way)| {
                if way > 0.0 { along } else { against }.clone()
            }));
        let share = force.efficiency_on.or(force.efficiency_back);
        useful
            .cells
            .push(share.map_or_else(|| NONE.to_owned(), percent));
        rest.cells.push(
            force
                .let_go
                .as_ref()
                .map_or_else(|| NONE.to_owned(), let_go_words),
        );
    }
    let below = on
        .cells
        .iter()
        .chain(&back.cells)
        .any(|cell| cell.starts_with('-') && cell != NONE);
    let mut columns = vec![on, back, free, band, useful, rest];
    if pushed.cells.iter().any(|cell| !cell.is_empty()) {
        columns.insert(1, pushed);
    }
    if moved {
        columns.insert(0, at);
    }
    text.push_str(&lay_out(&[], &columns));
    text.push_str(
        "Held counts friction low: how many times over what drives it is held when let go\n",
    );
    if below {
        text.push_str(
            "Below nothing it goes by itself, and the hand must hold it back by so much\n",
        );
    }
    if let Some(let_go) = worst.let_go.as_ref().filter(|let_go| !let_go.by.is_empty()) {
        let by: Vec<String> = let_go
            .by
            .iter()
            .take(TOLD)
            .map(|joint| format!("{} {}", joint.joint, percent(joint.share)))
            .collect();
        let sentence = format!("Its friction sits in {}", by.join(", "));
        let _ = writeln!(text, "{}", wrap(&sentence, WIDTH, 2));
    }
    text
}

fn shafts_text(shown: &Shown, case: &CaseLoads) -> String {
    let mut text = String::new();
    let (n, m) = (
        unit_of_force(false, shown.length),
        unit_of_force(true, shown.length),
    );
    for shaft in &case.shafts {
        let mut station = Column::numbers("station", shown.length.symbol());
        let mut what = Column::words("what stands there");
        let mut right = Column::numbers("right", n.symbol());
        let mut up = Column::numbers("up", n.symbol());
        let mut bending = Column::numbers("bending", m.symbol());
        let mut torsion = Column::numbers("torsion", m.symbol());
        // Before and after, where a couple makes them differ.
        let both = |[before, after]: [f64; 2]| {
            let (before, after) = (bare(before, m), bare(after, m));
            if before == after {
                before
            } else {
                format!("{before} / {after}")
            }
        };
        for s in &shaft.stations {
            station.cells.push(bare(s.station, shown.length));
            what.cells.push(s.what.clone());
            right.cells.push(bare(s.force[0], n));
            up.cells.push(bare(s.force[1], n));
            let known = shaft.most_bending.is_some();
            bending.cells.push(if known {
                both(s.bending)
            } else {
                NONE.to_owned()
            });
            torsion.cells.push(both(s.torsion));
        }
        let head = format!(
            "Along {} where it is worst: {}, {}",
            shaft.shaft,
            place(shown, case, shaft.row),
            shaft.when()
        );
        let table = lay_out(&[], &[station, right, up, bending, torsion, what]);
        let _ = write!(text, "\n{}\n{table}", wrap(&head, WIDTH, 2));
    }
    text
}

/// The unit in which stretch and play are read: a tenth of a micrometre shows what gives.
fn fine(value: f64, quantity: &Quantity) -> String {
    match quantity.unit {
        Unit::Millimetre | Unit::Centimetre | Unit::Metre => {
            quantity::show(value, Unit::Millimetre, 4)
        }
        Unit::Degree => quantity::show(value, Unit::Degree, 3),
        unit => with_unit(value, unit),
    }
}

fn signed_fine(value: f64, quantity: &Quantity) -> String {
    let text = fine(value, quantity);
    let nothing = !text.contains(|c: char| matches!(c, '1'..='9'));
    if nothing || text.starts_with('-') {
        text
    } else {
        format!("+{text}")
    }
}

fn stretch_text(stretch: &Stretch) -> String {
    let place = standing(&stretch.held).map_or(String::new(), |held| format!(": {held}"));
    let head = format!("What gives under {}{place}", stretch.case);
    let mut name = Column::words("reading");
    let mut free = Column::numbers("without load", "");
    let mut loaded = Column::numbers("loaded", "");
    let mut by = Column::numbers("gives", "");
    let mut member = Column::words("most of it in");
    let mut stiffer = Vec::new();
    for r in stretch.readings.iter().filter(|r| !r.members.is_empty()) {
        name.cells.push(r.reading.name.clone());
        free.cells.push(fine(r.free, &r.reading));
        loaded.cells.push(fine(r.loaded, &r.reading));
        by.cells.push(signed_fine(r.loaded - r.free, &r.reading));
        let twice = r.members.iter().take(2).map(|m| {
            format!(
                "{} with {} twice as stiff",
                fine(m.doubled, &r.reading),
                m.member
            )
        });
        let twice: Vec<String> = twice.collect();
        stiffer.push(format!("{} is {}", r.reading.name, twice.join(", ")));
        let members: Vec<String> = r
            .members
            .iter()
            .take(TOLD)
            .map(|m| format!("{} {}", m.member, percent(m.share)))
            .collect();
        member.cells.push(members.join(", "));
    }
    if name.cells.is_empty() {
        return String::new();
    }
    let table = lay_out(&[], &[name, free, loaded, by, member]);
    let mut text = format!("\n{}\n{table}", wrap(&head, WIDTH, 2));
    for sentence in stiffer {
        let _ = writeln!(text, "{}", wrap(&sentence, WIDTH, 2));
    }
    text
}

fn play_text(lost: &LostMotion) -> String {
    if lost.joints.is_empty() {
        return String::new();
    }
    let place = standing(&lost.held).map_or(String::new(), |held| format!(": {held}"));
    let head = format!("Lost motion under {}{place}", lost.case);
    let mut text = format!("\n{}\n", wrap(&head, WIDTH, 2));
    let mut name = Column::words("reading");
    let mut rattles = Column::numbers("rattles ±", "");
    let mut shift = Column::numbers("pressed over by", "");
    let mut joint = Column::words("most of it in");
    let moved = |r: &&ReadingPlay| r.rattles > 0.0;
    for r in lost.readings.iter().filter(moved) {
        name.cells.push(r.reading.name.clone());
        rattles.cells.push(fine(r.rattles, &r.reading));
        let greater = usize::from(r.taken_up[0].abs() <= r.taken_up[1].abs());
        shift.cells.push(
            r.taken_up
                .get(greater)
                .map_or_else(String::new, |v| signed_fine(*v, &r.reading)),
        );
        joint
            .cells
            .push(r.joints.first().map_or(String::new(), |j| j.joint.clone()));
    }
    if name.cells.is_empty() {
        return String::new();
    }
    text.push_str(&lay_out(&[], &[name, rattles, shift, joint]));
    let mut name = Column::words("reading");
    let mut drive = Column::words("turned back");
    let mut jumps = Column::numbers("loose", "");
    let mut left = Column::numbers("springs", "");
    let mut under = Column::numbers("loaded", "");
    let mut loses = Column::numbers("drive loses", "");
    for r in lost.readings.iter().filter(moved) {
        for back in &r.reversals {
            name.cells.push(r.reading.name.clone());
            drive.cells.push(back.drive.name.clone());
            jumps.cells.push(fine(back.jumps, &r.reading));
            left.cells.push(fine(back.left, &r.reading));
            under.cells.push(fine(back.left_under, &r.reading));
            loses.cells.push(
                back.lost
                    .map_or_else(|| NONE.to_owned(), |v| with_unit(v, back.drive.unit)),
            );
        }
    }
    if !name.cells.is_empty() {
        let head = format!(
            "What a reading jumps by when a drive turns back: with nothing pressing, with springs and weights alone, under {}",
            lost.case
        );
        let _ = write!(
            text,
            "\n{}\n{}",
            wrap(&head, WIDTH, 2),
            lay_out(&[], &[name, drive, jumps, left, under, loses])
        );
    }
    text
}

fn assumed_text(answer: &Loaded) -> String {
    let mut told: Vec<&str> = Vec::new();
    let of_stretch = answer.stretch.iter().flat_map(|s| &s.assumed);
    let of_play = answer.lost_motion.iter().flat_map(|l| &l.assumed);
    for sentence in answer.loads.assumed.iter().chain(of_stretch).chain(of_play) {
        if !told.contains(&sentence.as_str()) {
            told.push(sentence);
        }
    }
    let mut text = String::from("\nTaken for granted\n");
    for sentence in told {
        let _ = writeln!(text, "  {}", wrap(sentence, WIDTH, 4));
    }
    text.push_str("  these are estimates: guards, local rules and licensed practice come first\n");
    text
}

/// For a spreadsheet: one line a case and pose, effort first, then readings with their bands, then every joint.
pub(super) fn csv(answer: &Loaded, length: Unit) -> String {
    let loads = &answer.loads;
    let mut heads = vec![String::from("case")];
    let headed = |name: &str, unit: Unit| match unit.symbol() {
        "" => name.to_owned(),
        unit => format!("{name} ({unit})"),
    };
    heads.push(
        loads
            .drive
            .as_ref()
            .map_or_else(|| String::from("pose"), |d| headed(&d.name, d.unit)),
    );
    let drives = loads.cases.first().map_or(&[][..], |case| &case.drives);
    let unit_at = |worst: &DriveWorst| {
        let moment = worst.hand.is_none() && worst.drive.inside == studies::Inside::Radian;
        unit_of_force(moment, length)
    };
    for worst in drives {
        let (name, unit) = (&worst.drive.name, unit_at(worst));
        for what in ["on", "back", "frictionless"] {
            heads.push(headed(&format!("{name} {what}"), unit));
        }
        heads.push(format!("{name} held times"));
    }
    let readings = answer
        .bands
        .first()
        .map_or(&[][..], |table| &table.readings);
    for reading in readings {
        for what in ["without load", "loaded", "from", "to"] {
            heads.push(headed(&format!("{} {what}", reading.name), reading.unit));
        }
    }
    for joint in &loads.joints {
        heads.push(headed(&joint.name, unit_of_force(joint.is_moment, length)));
    }
    let mut text = csv::line(heads.iter().map(String::as_str));
    let cell = |value: Option<f64>, unit: Unit| value.map_or(String::new(), |v| bare(v, unit));
    for (c, case) in loads.cases.iter().enumerate() {
        for row in &case.rows {
            let drive_unit = loads.drive.as_ref().map_or(Unit::One, |d| d.unit);
            let mut cells = vec![case.case.clone(), cell(row.at, drive_unit)];
            for (index, worst) in drives.iter().enumerate() {
                let unit = unit_at(worst);
                let force = row.drives.get(index);
                let felt = force.map(|f| felt(f, worst.hand.is_some()));
                for value in [
                    felt.as_ref().and_then(|f| f.on),
                    felt.as_ref().and_then(|f| f.back),
                    felt.as_ref().and_then(|f| f.free),
                ] {
                    cells.push(cell(value, unit));
                }
                let held = force.and_then(|f| f.let_go.as_ref()?.factor);
                cells.push(cell(held, Unit::One));
            }
            let bands = answer
                .bands
                .get(c)
                .and_then(|table| table.rows.iter().find(|b| b.at == row.at));
            for (index, reading) in readings.iter().enumerate() {
                let bands = bands.and_then(|row| row.cells.get(index)?.as_ref());
                for value in [
                    bands.map(|b| b.nominal),
                    bands.and_then(|b| b.loaded),
                    bands.map(|b| b.from),
                    bands.map(|b| b.to),
                ] {
                    cells.push(cell(value, reading.unit));
                }
            }
            for (index, joint) in loads.joints.iter().enumerate() {
                let unit = unit_of_force(joint.is_moment, length);
                cells.push(cell(row.joints.get(index).map(|f| f.most), unit));
            }
            text.push_str(&csv::line(cells.iter().map(String::as_str)));
        }
    }
    text
}
