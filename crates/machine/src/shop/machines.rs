//! Lathes, mills, drill presses, rotary tables and saws of the shop file.

use crate::declared::Named;
use crate::desk::Desk;
use crate::equipment::{DrillPress, Holding, Lathe, Mill, RotaryTable, Saw, Spindle};
use crate::fields::{Field, Fields, Shape, Value};

const LATHE: Shape = Shape {
    a: "a lathe",
    keys: &[
        ("swing", "swing = \"180 mm\""),
        ("over-slide", "over-slide = \"100 mm\""),
        ("between-centres", "between-centres = \"400 mm\""),
        ("spindle-bore", "spindle-bore = \"26 mm\""),
        ("holds", "holds = [\"three-jaw\", \"four-jaw\"]"),
        ("jaw-width", "jaw-width = \"14 mm\""),
        ("speeds", "speeds = [125, 210, 420, 860]"),
        ("feeds", "feeds = [\"0.05 mm\", \"0.1 mm\"]"),
        ("pitches", "pitches = [\"0.5 mm\", \"1 mm\"]"),
        ("dial", "dial = \"0.02 mm\""),
        ("dial-counts", "dial-counts = \"diameter\""),
        ("steady", "steady = true"),
    ],
};

const MILL: Shape = Shape {
    a: "a mill",
    keys: &[
        ("travel", "travel = [\"400 mm\", \"150 mm\", \"250 mm\"]"),
        ("speeds", "speeds = { from = 100, to = 2500 }"),
        ("dial", "dial = \"0.02 mm\""),
        ("readout", "readout = \"0.005 mm\""),
        ("drills-to", "drills-to = \"16 mm\""),
    ],
};

const DRILL_PRESS: Shape = Shape {
    a: "a drill press",
    keys: &[
        ("speeds", "speeds = [500, 890, 1400, 2600]"),
        ("drills-to", "drills-to = \"13 mm\""),
        ("stroke", "stroke = \"60 mm\""),
    ],
};

const ROTARY: Shape = Shape {
    a: "a rotary table",
    keys: &[
        ("diameter", "diameter = \"150 mm\""),
        ("ratio", "ratio = 90"),
        ("dial", "dial = \"0.05 deg\""),
    ],
};

const SAW: Shape = Shape {
    a: "a saw",
    keys: &[
        ("kerf", "kerf = \"1.2 mm\""),
        ("capacity", "capacity = \"100 mm\""),
    ],
};

const RANGE: Shape = Shape {
    a: "a range of speeds",
    keys: &[("from", "from = 100"), ("to", "to = 2500")],
};

/// Fastest spindle that a small shop has, rev/min.
const FASTEST: f64 = 60_000.0;

fn speeds(desk: &mut Desk, fields: &Fields) -> Option<Spindle> {
    let field = fields.need(desk, "speeds")?;
    let one = |desk: &mut Desk, f: &Field| {
        let n = f.number(desk)?;
        if n > 0.0 && n <= FASTEST {
            return Some(n);
        }
        f.bad(
            desk,
            format!("a spindle does not turn {n} times a minute"),
            "write turns a minute, above 0",
        );
        None
    };
    if field.is_list() {
        let mut steps = Vec::new();
        for item in field.list(desk, "a list of turns a minute")? {
            steps.push(one(desk, &item)?);
        }
        steps.sort_by(f64::total_cmp);
        if steps.is_empty() {
            field.bad(
                desk,
                "`speeds` is empty",
                "write the turns a minute of each step",
            );
            return None;
        }
        return Some(Spindle::Steps(steps));
    }
    if !matches!(field.node.value, Value::Table(_)) {
        field.bad(
            desk,
            format!("`speeds` of {} is {}", fields.what, field.node.words()),
            "write a list of turns a minute, `[125, 210, 420]`, or `{ from = 100, to = 2500 }` for a stepless drive",
        );
        return None;
    }
    let inner = Fields::new(
        desk,
        format!("the speeds of {}", fields.what),
        &RANGE,
        &crate::works::inner_table(&field),
    )?;
    let from = inner.need(desk, "from").and_then(|f| one(desk, &f));
    let to = inner.need(desk, "to").and_then(|f| one(desk, &f));
    let (from, to) = (from?, to?);
    if from > to {
        field.bad(
            desk,
            "the slowest speed is above the fastest",
            "`from` is the slower one",
        );
        return None;
    }
    Some(Spindle::Range([from, to]))
}

/// A length above zero that has to be there.
fn size(desk: &mut Desk, fields: &Fields, key: &str) -> Option<f64> {
    fields.need(desk, key).and_then(|f| f.positive_length(desk))
}

/// A length above zero, when it is written; an error was said.
fn maybe(desk: &mut Desk, fields: &Fields, key: &str) -> Result<Option<f64>, ()> {
    match fields.get(key) {
        Some(f) => f.positive_length(desk).map(Some).ok_or(()),
        None => Ok(None),
    }
}

fn lengths(desk: &mut Desk, fields: &Fields, key: &str) -> Option<Vec<f64>> {
    let Some(field) = fields.get(key) else {
        return Some(Vec::new());
    };
    let mut all = Vec::new();
    for item in field.list(desk, "a list of lengths")? {
        all.push(item.positive_length(desk)?);
    }
    all.sort_by(f64::total_cmp);
    Some(all)
}

/// Pitches that a lathe cuts, as lengths or as the plate of an inch gearbox has them: `20 tpi`.
fn pitches(desk: &mut Desk, fields: &Fields) -> Option<Vec<f64>> {
    let Some(field) = fields.get("pitches") else {
        return Some(Vec::new());
    };
    let mut all = Vec::new();
    for item in field.list(desk, "a list of lengths")? {
        let tpi = match item.node.value {
            Value::Text(text) => text.trim().strip_suffix("tpi").map(str::trim),
            _ => None,
        };
        match tpi.and_then(|n| n.parse::<f64>().ok()) {
            Some(n) if n > 0.0 && n.is_finite() => all.push(25.4 / n),
            _ => all.push(item.positive_length(desk)?),
        }
    }
    all.sort_by(f64::total_cmp);
    Some(all)
}

pub(super) fn lathe(desk: &mut Desk, named: &Named) -> Option<Lathe> {
    let fields = Fields::new(desk, named.what(), &LATHE, &named.entry)?;
    let swing = size(desk, &fields, "swing");
    let between = size(desk, &fields, "between-centres");
    let bore = size(desk, &fields, "spindle-bore");
    let over = maybe(desk, &fields, "over-slide");
    let jaw = maybe(desk, &fields, "jaw-width");
    let speeds = speeds(desk, &fields);
    let feeds = lengths(desk, &fields, "feeds");
    let pitches = pitches(desk, &fields);
    let dial = size(desk, &fields, "dial");
    let on_diameter = fields
        .get("dial-counts")
        .map_or(Some(0), |f| f.word(desk, &["diameter", "movement"]));
    let steady = fields.get("steady").map_or(Some(false), |f| f.truth(desk));
    let mut holds = vec![Holding::ThreeJaw];
    if let Some(field) = fields.get("holds") {
        holds.clear();
        for item in field.list(desk, "a list of what holds the work")? {
            const WORDS: [&str; 5] = ["three-jaw", "four-jaw", "collets", "faceplate", "centres"];
            const KINDS: [Holding; 5] = [
                Holding::ThreeJaw,
                Holding::FourJaw,
                Holding::Collets,
                Holding::Faceplate,
                Holding::Centres,
            ];
            holds.extend(item.word(desk, &WORDS).and_then(|n| KINDS.get(n)).copied());
        }
    }
    Some(Lathe {
        name: named.entry.name.to_owned(),
        swing: swing?,
        over_slide: over.ok()?,
        between_centres: between?,
        spindle_bore: bore?,
        holds,
        jaw_width: jaw.ok()?.unwrap_or(14.0),
        speeds: speeds?,
        feeds: feeds?,
        pitches: pitches?,
        dial: dial?,
        on_diameter: on_diameter? == 0,
        steady: steady?,
    })
}

pub(super) fn mill(desk: &mut Desk, named: &Named) -> Option<Mill> {
    let fields = Fields::new(desk, named.what(), &MILL, &named.entry)?;
    let travel = fields.need(desk, "travel").and_then(|f| {
        let items = f.list(desk, "three lengths")?;
        let [x, y, z] = f.exactly(desk, items, "three lengths")?;
        let (x, y, z) = (
            x.positive_length(desk),
            y.positive_length(desk),
            z.positive_length(desk),
        );
        Some([x?, y?, z?])
    });
    let speeds = speeds(desk, &fields);
    let dial = size(desk, &fields, "dial");
    let readout = maybe(desk, &fields, "readout");
    let drills = maybe(desk, &fields, "drills-to");
    Some(Mill {
        name: named.entry.name.to_owned(),
        travel: travel?,
        speeds: speeds?,
        dial: dial?,
        readout: readout.ok()?,
        drills_to: drills.ok()?.unwrap_or(13.0),
    })
}

pub(super) fn drill_press(desk: &mut Desk, named: &Named) -> Option<DrillPress> {
    let fields = Fields::new(desk, named.what(), &DRILL_PRESS, &named.entry)?;
    let speeds = speeds(desk, &fields);
    let largest = size(desk, &fields, "drills-to");
    let stroke = maybe(desk, &fields, "stroke");
    Some(DrillPress {
        name: named.entry.name.to_owned(),
        speeds: speeds?,
        drills_to: largest?,
        stroke: stroke.ok()?.unwrap_or(50.0),
    })
}

pub(super) fn rotary_table(desk: &mut Desk, named: &Named) -> Option<RotaryTable> {
    let fields = Fields::new(desk, named.what(), &ROTARY, &named.entry)?;
    let diameter = size(desk, &fields, "diameter");
    let ratio = fields
        .need(desk, "ratio")
        .and_then(|f| f.whole(desk, 1, 1000));
    let dial = fields.need(desk, "dial").and_then(|f| {
        let angle = f.angle(desk)?;
        if angle > 0.0 {
            return Some(angle);
        }
        f.bad(
            desk,
            "`dial` has to be above zero",
            "write one division, as in \"0.05 deg\"",
        );
        None
    });
    Some(RotaryTable {
        name: named.entry.name.to_owned(),
        diameter: diameter?,
        ratio: ratio? as f64,
        dial: dial?,
    })
}

pub(super) fn saw(desk: &mut Desk, named: &Named) -> Option<Saw> {
    let fields = Fields::new(desk, named.what(), &SAW, &named.entry)?;
    let kerf = size(desk, &fields, "kerf");
    if let (Some(wide), Some(f)) = (kerf, fields.get("kerf"))
        && wide > 6.0
    {
        let shown = desk.show(wide);
        f.bad(
            desk,
            format!("no saw cuts {shown} wide"),
            "`kerf` is the width of its cut: 1 to 3 mm, 1/32 to 1/8 in",
        );
        return None;
    }
    let capacity = size(desk, &fields, "capacity");
    Some(Saw {
        name: named.entry.name.to_owned(),
        kerf: kerf?,
        capacity: capacity?,
    })
}
