//! The dial-in sheet: what to set, an empty table to write readings in, what to measure besides, what to turn, and the marks.

use super::Packet;
use super::flow::{Column, Flow, settled};
use super::paper::{Block, Leaf, Page};
use crate::dial_scale::{self, arc_of, scale_sheet};
use crate::font;
use crate::geometry::Rect;
use crate::number::{trimmed, value};
use crate::sheet::{Group, Hand, Hold, Lettering};
use machine::Machine;
use quantity::{Kind, Unit};
use studies::dial::answers::{Corrected, Paper, Scale};
use studies::{Held, Quantity, Severity};

/// Height of a line to write in, mm (common practice).
const LINE: f64 = 7.0;
/// Height of what is said beside a scale, mm.
const TEXT: f64 = 2.5;

/// The dial-in sheets alone.
pub fn dial_in_sheets(machine: &Machine, paper: &Paper, leaf: Leaf) -> Packet {
    let pages = draw(machine, paper, leaf);
    Packet::of(format!("{}: dial in", machine.name), pages)
}

/// A change with its sign.
fn change(by: f64, unit: Unit) -> String {
    let text = value(by, unit);
    if by > 0.0 { format!("+{text}") } else { text }
}

fn places(held: &[Held]) -> Vec<String> {
    held.iter()
        .map(|h| format!("{} at {}", h.quantity.name, value(h.value, h.quantity.unit)))
        .collect()
}

pub(super) fn draw(machine: &Machine, paper: &Paper, leaf: Leaf) -> Vec<Page> {
    let block = Block {
        machine: machine.name.clone(),
        title: "Dial in".to_owned(),
        facts: vec![
            format!("{} over {}", paper.reading.name, paper.drive.name),
            "± holds 95 times of 100".to_owned(),
        ],
        scale: None,
        flat: false,
    };
    let mut pages = settled(|foot| {
        let mut flow = Flow::new(leaf, block.clone(), "Dial in", false).clear(foot);
        flow.title(&format!("{}: dial in", machine.name));
        flow.caution("Block the machine and let stored force out before a hand or an indicator goes between closing faces. Turn it by hand only, never under power.");
        set(&mut flow, paper);
        readings(&mut flow, paper);
        measure(&mut flow, paper);
        turn(&mut flow, paper);
        flow
    });
    if let Some(scale) = &paper.scale {
        let mut flow = Flow::new(leaf, block.clone(), "Scale", true);
        // What is turned first moves all marks.
        let turned = paper.correction.as_ref().is_some_and(|c| c.needed);
        marks(&mut flow, scale, turned);
        pages.extend(flow.finish());
        pages.extend(true_size(scale, leaf, block, turned));
    }
    pages
}

fn set(flow: &mut Flow, paper: &Paper) {
    flow.heading("Set");
    let held = places(&paper.held);
    if held.is_empty() {
        flow.text("Nothing else moves or can be adjusted.");
    } else {
        flow.text(&format!("{}.", held.join(", ")));
    }
    for f in &paper.findings {
        let grave = if f.severity == Severity::Fault {
            "!"
        } else {
            "–"
        };
        let tried = f
            .what_to_try
            .as_ref()
            .map_or(String::new(), |t| format!("; {t}"));
        flow.item(grave, &format!("{}{tried}.", f.sentence));
    }
}

/// Which instrument: one that spans the way and shows a fraction of it.
fn instrument(reading: &Quantity, travel: Option<f64>) -> String {
    let way = travel.map_or(String::new(), |t| {
        format!(
            "It goes about {} over these places. ",
            value(t, reading.unit)
        )
    });
    let with = match (reading.unit.kind(), travel) {
        (Kind::Length, Some(t)) if t <= 0.8 => {
            "A lever indicator of 0.01 mm (0.0005 in) is enough."
        }
        (Kind::Length, Some(t)) if t <= 10.0 => {
            "A dial indicator of 10 mm (1/2 in) travel and 0.01 mm (0.0005 in) a division is enough."
        }
        (Kind::Length, _) => {
            "That is more than a usual dial indicator travels: use a long one, a height gauge or a depth rod, and state what it holds."
        }
        _ => "A bevel protractor or an electronic level will do; state what it holds.",
    };
    format!("{way}{with}")
}

fn readings(flow: &mut Flow, paper: &Paper) {
    let (q, d) = (&paper.reading, &paper.drive);
    flow.heading(&format!("Read {} over {}", q.name, d.name));
    flow.text(&instrument(q, paper.travel));
    let over: Vec<&str> = paper.over.iter().map(|o| o.name.as_str()).collect();
    let turned = if over.is_empty() {
        String::new()
    } else {
        format!(
            " At each place turn {} through and write where the indicator turns back.",
            over.join(" and ")
        )
    };
    flow.item("1", "Mount it rigidly, its plunger along the line of the reading. Its zero may stand anywhere; do not touch it until the last line is written.");
    flow.item("2", &format!(
        "Go up through all places without turning back, coming to each from below, and write the first column; then come down through them from above for the second. Put {} to its places with a protractor, a rule or a dividing head, whose zero is found first.{turned}",
        d.name
    ));
    flow.item("3", "Write what it shows, with its sign, even where it looks wrong. A wild reading is found out later.");
    let unit = |u: Unit| u.symbol();
    let heads = [
        format!("{} ({})", d.name, unit(d.unit)),
        format!("up ({})", unit(q.unit)),
        format!("down ({})", unit(q.unit)),
        "note".to_owned(),
    ];
    let rows: Vec<Vec<String>> = paper
        .places
        .iter()
        .map(|p| vec![trimmed(d.unit.from_inside(*p), 4)])
        .collect();
    flow.form(&heads, &[18.0, 32.0, 32.0, 50.0], &rows, LINE);
    let heads = [
        "day",
        "instrument",
        "sure to ±",
        "drive's zero sure to ±",
        "loaded with",
    ]
    .map(str::to_owned);
    flow.form(&heads, &[24.0, 40.0, 24.0, 44.0, 40.0], &[Vec::new()], LINE);
}

fn measure(flow: &mut Flow, paper: &Paper) {
    if paper.next.is_empty() {
        return;
    }
    flow.heading("Measure besides, most useful first");
    let rows: Vec<Vec<String>> = paper
        .next
        .iter()
        .map(|n| vec![format!("{} %", (100.0 * n.gain).round()), n.what.clone()])
        .collect();
    flow.text("By how much the doubt about the machine shrinks with each.");
    let heads = ["doubt less", "what", "found", "sure to ±"].map(str::to_owned);
    flow.form(&heads, &[20.0, 88.0, 32.0, 22.0], &rows, LINE);
}

fn turn(flow: &mut Flow, paper: &Paper) {
    if let Some(c) = paper.correction.as_ref().filter(|c| c.needed) {
        flow.heading("What to turn, by the readings so far");
        if let Some(best) = &c.best {
            flow.item("1", &correction(best));
        } else if let Some(why) = &c.why {
            flow.text(&format!("{why}."));
        }
        for (n, other) in c.alternatives.iter().enumerate() {
            flow.item(&format!("{}", n + 2), &format!("or: {}", correction(other)));
        }
        for end in &c.at_end {
            flow.item("–", end);
        }
    }
    if paper.effects.is_empty() {
        return;
    }
    flow.heading("What one step of each setting does");
    let rows: Vec<Vec<String>> = paper
        .effects
        .iter()
        .map(|e| {
            let does: Vec<String> = e
                .steps
                .iter()
                .map(|s| (s, change(s.change, s.reading.unit)))
                .filter(|(_, by)| by.bytes().any(|b| (b'1'..=b'9').contains(&b)))
                .map(|(s, by)| format!("{} {by}", s.ask))
                .collect();
            vec![
                e.words.clone(),
                value(e.now, e.setting.unit),
                does.join(", "),
                String::new(),
            ]
        })
        .collect();
    flow.table(
        &[
            Column {
                head: "step",
                share: 52.0,
            },
            Column {
                head: "now",
                share: 20.0,
            },
            Column {
                head: "changes",
                share: 80.0,
            },
            Column {
                head: "done",
                share: 20.0,
            },
        ],
        &rows,
    );
}

fn correction(c: &Corrected) -> String {
    let sure = if c.sure {
        ""
    } else {
        "; not every ask is kept with its whole band"
    };
    format!("{} ({}){sure}", c.sentence, c.cost)
}

fn marks(flow: &mut Flow, scale: &Scale, turned: bool) {
    flow.title(&format!(
        "Marks of {} on {}",
        scale.reading.name, scale.drive.name
    ));
    flow.text(&format!(
        "For the machine as {}. `bellcrank dial-in --scale` lays them out true to size at any radius, on a ring or a drum, and for engraving.",
        if scale.as_built { "built" } else { "drawn; they shift once it is built and read" }
    ));
    if turned {
        flow.caution("These marks are for the machine as it stands now, before what is to be turned on the sheet before. Turn that, read again, and lay the marks out anew: do not mount or engrave these.");
    }
    for f in &scale.findings {
        flow.item("–", &format!("{f}."));
    }
    let pm = |v: Option<f64>, u: Unit| v.map_or_else(|| "–".to_owned(), |v| value(v, u));
    // On the machine as drawn nobody knows how far a mark is off.
    let sure = scale.marks.iter().any(|m| m.place_plus_minus.is_some());
    // Two marks side by side: half the lines.
    let cells: Vec<Vec<String>> = scale
        .marks
        .iter()
        .map(|m| {
            let mut cells = vec![
                value(m.value, scale.reading.unit),
                value(m.at, scale.drive.unit),
            ];
            if sure {
                cells.push(pm(m.place_plus_minus, scale.drive.unit));
            }
            cells
        })
        .collect();
    let half = cells.len().div_ceil(2);
    let rows: Vec<Vec<String>> = (0..half)
        .map(|i| {
            let mut row = cells.get(i).cloned().unwrap_or_default();
            row.push(String::new());
            row.extend(cells.get(half + i).cloned().unwrap_or_default());
            row
        })
        .collect();
    let each = if sure { 3 } else { 2 };
    let three = ["reads", "place", "± place"].into_iter().take(each);
    let columns: Vec<Column> = three
        .clone()
        .chain([""])
        .chain(three)
        .map(|head| Column {
            head,
            share: if head.is_empty() { 8.0 } else { 24.0 },
        })
        .collect();
    flow.table(&columns, &rows);
}

/// The arc true to size on a sheet of its own, where it has room.
fn true_size(scale: &Scale, leaf: Leaf, mut block: Block, turned: bool) -> Option<Page> {
    let mut group = arc_of(&scale_sheet(scale))?;
    block.title = format!("Scale of {} on {}", scale.reading.name, scale.drive.name);
    block.scale = Some("1:1".to_owned());
    block.flat = true;
    let radius = scale.radius?;
    block.facts = vec![
        format!("line at {} radius", dial_scale::read(scale, radius)),
        format!(
            "for the machine as {}",
            if scale.as_built { "built" } else { "drawn" }
        ),
    ];
    let mut page = Page::new(leaf, false, block);
    group.shift = [0.0, 0.0];
    let (extent, [a, b]) = (group.extent(), page.field());
    if extent.width() > b[0] - a[0] || extent.height() > b[1] - a[1] {
        return None;
    }
    let centre = extent.centre();
    group.shift = [
        f64::midpoint(a[0], b[0]) - centre[0],
        a[1] + 10.0 - extent.min[1],
    ];
    let mut low = group.shift[1] + extent.max[1];
    // Which end is which.
    let mut ends = Group::new("ends");
    let mut taken: Vec<Rect> = Vec::new();
    for (foot, outward, text) in dial_scale::ends(scale) {
        let far = font::width(&text, TEXT, Hand::Note) / 2.0 * outward.cos().abs() + 3.5;
        // Ends of a scale that goes nearly round stand one under the other.
        for more in 0..4 {
            let far = far + 5.0 * f64::from(more);
            let at = [
                group.shift[0] + foot[0] - far * outward.cos(),
                group.shift[1] + foot[1] + far * outward.sin() + TEXT / 2.0,
            ];
            let l = Lettering::new(at, text.clone(), TEXT, Hold::Middle, Hand::Note);
            let rect = l.extent().grown(0.3);
            if taken.iter().all(|t| !t.overlaps(&rect)) {
                taken.push(rect);
                ends.letter(l);
                break;
            }
        }
    }
    low += 12.0;
    if turned {
        let text = "Before the change it wants: not to be mounted.";
        let at = [a[0], low];
        ends.letter(Lettering::new(at, text, 3.0, Hold::Start, Hand::Name));
        low += font::pitch(3.0) + 1.0;
    }
    for note in dial_scale::notes(scale) {
        for line in font::wrapped(&font::clean(&note), TEXT, Hand::Note, b[0] - a[0]) {
            if low < b[1] {
                let at = [a[0], low];
                ends.letter(Lettering::new(at, line, TEXT, Hold::Start, Hand::Note));
            }
            low += font::pitch(TEXT) + 0.3;
        }
    }
    page.groups.push(group);
    page.groups.push(ends);
    Some(page)
}
