//! Drills, reamers, taps, dies, cutters of the shop file.

use crate::desk::Desk;
use crate::equipment::{Drill, GearCutters, Tools};
use crate::fields::{Entry, Field, Fields, Shape, Value};
use crate::works::inner_table;
use crate::works::sizes::{Without, sized};
use elements::drills;
use elements::fits_iso::Side;
use quantity::{Thread, Unit};

const TOOLS: Shape = Shape {
    a: "the tools",
    keys: &[
        (
            "drills",
            "drills = [{ from = \"1 mm\", to = \"13 mm\", by = \"0.1 mm\" }, \"numbers\", \"14 mm\"]",
        ),
        ("reamers", "reamers = [\"6 H7\", \"8 H7\"]"),
        ("taps", "taps = [\"M3\", \"M4\", \"1/4-20\"]"),
        ("dies", "dies = [\"M6\", \"M8\"]"),
        ("end-mills", "end-mills = [\"6 mm\", \"10 mm\"]"),
        (
            "gear-cutters",
            "gear-cutters = [{ module = \"1.5 mm\", numbers = [3, 4] }]",
        ),
        ("boring", "boring = [\"8 mm\", \"80 mm\"]"),
        ("boring-head", "boring-head = [\"10 mm\", \"60 mm\"]"),
        ("turning", "turning = \"high-speed steel\""),
        ("facing", "facing = \"1.5 mm\""),
    ],
};

const GEAR_CUTTERS: Shape = Shape {
    a: "a set of gear cutters",
    keys: &[
        ("module", "module = \"1.5 mm\""),
        ("diametral-pitch", "diametral-pitch = 16"),
        ("numbers", "numbers = [3, 4]"),
    ],
};

const SERIES: Shape = Shape {
    a: "a series of drills",
    keys: &[
        ("from", "from = \"1 mm\""),
        ("to", "to = \"13 mm\""),
        ("by", "by = \"0.1 mm\""),
    ],
};

/// Left on a sawn end to face (common practice).
const FACING: f64 = 1.5;
/// Most drills of one series.
const MOST: f64 = 2000.0;

/// No tools at all, and the usual facing.
pub(super) fn bare() -> Tools {
    Tools {
        facing: FACING,
        ..Tools::default()
    }
}

pub(super) fn read(desk: &mut Desk, entry: &Entry) -> Tools {
    let mut tools = bare();
    let Some(fields) = Fields::new(desk, "the table of tools".to_owned(), &TOOLS, entry) else {
        return tools;
    };
    for item in items(desk, &fields, "drills", "a list of drills") {
        drill(desk, &item, &mut tools.drills);
    }
    tools
        .drills
        .sort_by(|a, b| a.diameter.total_cmp(&b.diameter));
    tools
        .drills
        .dedup_by(|a, b| (a.diameter - b.diameter).abs() < 1e-9);
    for item in items(desk, &fields, "reamers", "a list of reamers") {
        tools
            .reamers
            .extend(sized(desk, &item, Side::Hole, &Without::Usual("H7")));
    }
    tools.taps = threads(desk, &fields, "taps");
    tools.dies = threads(desk, &fields, "dies");
    for item in items(desk, &fields, "end-mills", "a list of diameters") {
        tools.end_mills.extend(item.positive_length(desk));
    }
    tools.end_mills.sort_by(f64::total_cmp);
    for item in items(desk, &fields, "gear-cutters", "a list of gear cutters") {
        tools.gear_cutters.extend(gear_cutters(desk, &item));
    }
    tools.boring = range(desk, &fields, "boring");
    tools.boring_head = range(desk, &fields, "boring-head");
    tools.carbide = fields
        .get("turning")
        .and_then(|f| f.word(desk, &["high-speed steel", "carbide"]))
        == Some(1);
    if let Some(facing) = fields.get("facing").and_then(|f| f.positive_length(desk)) {
        tools.facing = facing;
    }
    tools
}

fn items<'a>(desk: &mut Desk, fields: &Fields<'a>, key: &str, wanted: &str) -> Vec<Field<'a>> {
    fields
        .get(key)
        .and_then(|f| f.list(desk, wanted))
        .unwrap_or_default()
}

fn threads(desk: &mut Desk, fields: &Fields, key: &str) -> Vec<Thread> {
    let mut all = Vec::new();
    for item in items(desk, fields, key, "a list of threads") {
        if let Some(text) = item.text(desk, "a thread in quotes") {
            match quantity::thread::parse(text) {
                Ok(thread) => all.push(thread),
                Err(error) => item.misread(desk, &error),
            }
        }
    }
    all
}

fn range(desk: &mut Desk, fields: &Fields, key: &str) -> Option<[f64; 2]> {
    let field = fields.get(key)?;
    let [low, high] = field.pair(desk, "a smallest and a largest bore")?;
    let (low, high) = (low.positive_length(desk)?, high.positive_length(desk)?);
    if low > high {
        field.bad(
            desk,
            format!("`{key}` has its larger end first"),
            "the smaller end comes first",
        );
        return None;
    }
    Some([low, high])
}

/// Cutters of one size; all eight of its set where no numbers are given.
fn gear_cutters(desk: &mut Desk, item: &Field) -> Option<GearCutters> {
    let what = "a set of gear cutters".to_owned();
    let inner = Fields::new(desk, what, &GEAR_CUTTERS, &inner_table(item))?;
    let form = inner.one_of(desk, &["module", "diametral-pitch"])?;
    let by_pitch = form.key == "diametral-pitch";
    let module = if by_pitch {
        let pitch = form.number(desk)?;
        if pitch <= 0.0 {
            form.bad(
                desk,
                "a diametral pitch is above zero",
                "write how many teeth go on an inch of diameter: `diametral-pitch = 16`",
            );
            return None;
        }
        25.4 / pitch
    } else {
        form.positive_length(desk)?
    };
    let numbers = match inner.get("numbers") {
        None => (1..=8).collect(),
        Some(field) => {
            let mut all = Vec::new();
            for n in field.list(desk, "a list of numbers from 1 to 8")? {
                all.push(n.whole(desk, 1, 8)?);
            }
            all
        }
    };
    Some(GearCutters {
        module,
        by_pitch,
        numbers,
    })
}

fn drill(desk: &mut Desk, item: &Field, all: &mut Vec<Drill>) {
    let mut named = |set: Vec<drills::Drill>, unit: &str| {
        all.extend(set.into_iter().map(|d| Drill {
            name: format!("{}{unit}", d.name),
            diameter: d.diameter,
        }));
    };
    if let Value::Text(text) = item.node.value {
        match text {
            "numbers" => return named(drills::numbers(), ""),
            "letters" => return named(drills::letters(), ""),
            "fractions to 1/2" => {
                let small = drills::fractions(1);
                return named(
                    small.into_iter().filter(|d| d.diameter < 12.75).collect(),
                    " in",
                );
            }
            "fractions to 1" => return named(drills::fractions(1), " in"),
            _ => {}
        }
    }
    if let Value::Table(_) = item.node.value {
        let what = "a series of drills".to_owned();
        let Some(inner) = Fields::new(desk, what, &SERIES, &inner_table(item)) else {
            return;
        };
        let mut size = |key| inner.need(desk, key).and_then(|f| f.positive_length(desk));
        let (Some(from), Some(to), Some(by)) = (size("from"), size("to"), size("by")) else {
            return;
        };
        let count = ((to - from) / by + 1e-6).floor();
        if !(0.0..=MOST).contains(&count) {
            item.bad(
                desk,
                "this series has no drills, or far too many",
                "`from` is the smallest, `by` the step",
            );
            return;
        }
        all.extend((0..=count as u32).map(|n| {
            let diameter = from + by * f64::from(n);
            Drill {
                name: quantity::show(diameter, Unit::Millimetre, 2),
                diameter,
            }
        }));
        return;
    }
    if let Some(diameter) = item.positive_length(desk) {
        let name = match item.node.value {
            Value::Text(text) => text.to_owned(),
            _ => desk.show(diameter),
        };
        all.push(Drill { name, diameter });
    }
}
