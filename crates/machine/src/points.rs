//! How each point is said to be placed: read here, worked out in [`crate::construct`].

use std::f64::consts::TAU;

use crate::declared::Named;
use crate::desk::{Desk, Kind};
use crate::diagnostic::Diagnostic;
use crate::fields::{Entry, Field, Fields, Shape, Value};
use crate::model::{Place, PointId};
use crate::vector::V2;
use crate::words::list;

const POINT: Shape = Shape {
    a: "a point",
    keys: &[
        ("at", "at = [30, 12]"),
        ("from", "from = \"lever-pivot\""),
        ("reach", "reach = 240"),
        ("angle", "angle = \"100 deg\""),
        ("by", "by = [12, -3]"),
        (
            "swing",
            "swing = [[\"lever-pin\", 180], [\"knee-pivot\", 45]]",
        ),
        ("take", "take = \"upper\""),
        ("on", "on = [\"lever-pivot\", \"lever-pin\"]"),
        ("share", "share = 0.5"),
        ("mirror", "mirror = \"lever-pin\""),
        ("across", "across = [\"axis-low\", \"axis-high\"]"),
        ("circle", "circle = \"hub\""),
        ("radius", "radius = 25"),
        ("count", "count = 6"),
        ("number", "number = 2"),
        ("first", "first = \"30 deg\""),
        ("foot", "foot = \"lever-pin\""),
        ("meet", "meet = [[\"a\", \"b\"], [\"c\", \"d\"]]"),
        ("project", "project = \"shaft-centre\""),
        ("plane", "plane = \"side\""),
        ("station", "station = \"8 mm\""),
    ],
};

/// Each form by the key that tells it, and the keys that go with it. `foot` comes before `on`, which it uses too.
const FORMS: [(&str, &[&str]); 9] = [
    ("at", &["at", "plane"]),
    ("from", &["from", "reach", "angle", "by"]),
    ("swing", &["swing", "on", "take"]),
    ("mirror", &["mirror", "across"]),
    ("circle", &["circle", "radius", "count", "number", "first"]),
    ("foot", &["foot", "on"]),
    ("meet", &["meet"]),
    ("project", &["project", "plane"]),
    ("on", &["on", "reach", "share"]),
];

/// Greatest number of holes of a circle or row.
pub(crate) const MOST_HOLES: i64 = 10_000;

/// Which of two crossings.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Pick {
    Upper,
    Lower,
    Left,
    Right,
}

const PICKS: [Pick; 4] = [Pick::Upper, Pick::Lower, Pick::Left, Pick::Right];
const PICK_WORDS: [&str; 4] = ["upper", "lower", "left", "right"];

/// A construction. Lengths in mm, angles in rad.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Form {
    /// Coordinates.
    At(V2),
    /// This far from a point at an angle.
    Reach {
        from: PointId,
        reach: f64,
        angle: f64,
    },
    /// So far right and up of a point.
    By { from: PointId, by: V2 },
    /// Crossing of two arcs.
    Swing {
        centres: [PointId; 2],
        radii: [f64; 2],
        take: Pick,
    },
    /// Crossing of an arc and a line.
    SwingOn {
        centre: PointId,
        radius: f64,
        on: [PointId; 2],
        take: Pick,
    },
    /// On a line, so far from the first point.
    OnReach { ends: [PointId; 2], reach: f64 },
    /// On a line, this share of the way.
    OnShare { ends: [PointId; 2], share: f64 },
    /// Mirrored across a line.
    Mirror {
        point: PointId,
        across: [PointId; 2],
    },
    /// On a circle round a point.
    Circle {
        hub: PointId,
        radius: f64,
        angle: f64,
    },
    /// Foot of the perpendicular on a line.
    Foot { point: PointId, on: [PointId; 2] },
    /// Crossing of two lines.
    Meet {
        first: [PointId; 2],
        second: [PointId; 2],
    },
    /// The same place in space, written in another plane.
    Project(PointId),
}

impl Form {
    /// The points it is built from.
    pub(crate) fn needs(&self) -> Vec<PointId> {
        match *self {
            Form::At(_) => Vec::new(),
            Form::Reach { from: p, .. }
            | Form::By { from: p, .. }
            | Form::Circle { hub: p, .. }
            | Form::Project(p) => vec![p],
            Form::Swing {
                centres: [a, b], ..
            }
            | Form::OnReach { ends: [a, b], .. }
            | Form::OnShare { ends: [a, b], .. } => {
                vec![a, b]
            }
            Form::Mirror {
                point,
                across: [a, b],
            }
            | Form::Foot { point, on: [a, b] }
            | Form::SwingOn {
                centre: point,
                on: [a, b],
                ..
            } => vec![point, a, b],
            Form::Meet {
                first: [a, b],
                second: [c, d],
            } => vec![a, b, c, d],
        }
    }
}

/// What the file says about a point.
#[derive(Clone, Debug)]
pub(crate) struct Definition {
    pub(crate) form: Form,
    /// Index of the plane, where one is written.
    pub(crate) plane: Option<usize>,
    pub(crate) station: Option<f64>,
    /// Added to the place the form gives, mm: the hole in use of a row counted from its first.
    pub(crate) shift: V2,
    /// What it says, for pointing at.
    pub(crate) place: Place,
}

/// Reads all points; those that are broken are `None`.
pub(crate) fn read(desk: &mut Desk, named: &[Named]) -> Vec<Option<Definition>> {
    named
        .iter()
        .map(|n| definition(desk, n.what(), &n.entry))
        .collect()
}

/// Reads one construction.
pub(crate) fn definition(desk: &mut Desk, what: String, entry: &Entry) -> Option<Definition> {
    let place = entry.node.place;
    if let Value::List(_) = entry.node.value {
        let at = Field::lone(&POINT, "at", entry.node)?.lengths(desk)?;
        return Some(Definition {
            form: Form::At(at),
            plane: None,
            station: None,
            shift: [0.0; 2],
            place,
        });
    }
    if !matches!(entry.node.value, Value::Table(_)) {
        desk.push(
            Diagnostic::error("wrong-type", format!("{what} is not placed"))
                .at(place, "")
                .help("write coordinates, `[30, 12]`, or a construction, `{ from = \"lever-pivot\", by = [12, -3] }`"),
        );
        return None;
    }
    let fields = Fields::of_form(desk, what, &POINT, entry, |fields| {
        let (_, keys) = FORMS
            .iter()
            .find(|(key, _)| fields.iter().any(|f| f.key == *key))?;
        Some(keys.iter().copied().chain(["station"]).collect())
    })?;
    let before = desk.errors();
    let (form, keys) = which(desk, &fields)?;
    let others = fields.others(keys);
    for field in others.iter().filter(|f| f.key != "station") {
        desk.push(
            Diagnostic::error(
                "two-forms",
                format!("`{}` does not go with `{form}`", field.key),
            )
            .at(field.place(), "")
            .help(format!(
                "a point by `{form}` takes: {}, station",
                keys.join(", ")
            )),
        );
    }
    let plane = fields.get("plane").map(|f| f.name(desk, Kind::Plane));
    let station = fields.get("station").map(|f| f.length(desk));
    let form = read_form(desk, &fields, form);
    if desk.errors() > before {
        return None;
    }
    // A plane that is not known here may be named in a file that could not be read.
    if plane == Some(None) || station == Some(None) {
        return None;
    }
    Some(Definition {
        form: form?,
        plane: plane.flatten(),
        station: station.flatten(),
        shift: [0.0; 2],
        place,
    })
}

/// The form that is meant.
fn which(desk: &mut Desk, fields: &Fields) -> Option<(&'static str, &'static [&'static str])> {
    let mut found = FORMS.iter().filter(|(key, _)| fields.get(key).is_some());
    let Some(&(key, keys)) = found.next() else {
        let forms: Vec<&str> = FORMS.iter().map(|(key, _)| *key).collect();
        desk.push(
            Diagnostic::error("missing-key", format!("{} is not placed", fields.what))
                .at(fields.header, "")
                .help(format!(
                    "place it by one of {}: `{{ from = \"lever-pivot\", by = [12, -3] }}`",
                    list(&forms, "or")
                )),
        );
        return None;
    };
    if let Some((second, _)) = found.next()
        && !matches!((key, *second), ("foot" | "swing", "on"))
        && let (Some(a), Some(b)) = (fields.get(key), fields.get(second))
    {
        fields.clash(desk, &a, &b);
        return None;
    }
    Some((key, keys))
}

fn read_form(desk: &mut Desk, fields: &Fields, form: &str) -> Option<Form> {
    let point = |desk: &mut Desk, key: &str| {
        fields
            .need(desk, key)
            .and_then(|f| f.name(desk, Kind::Point))
    };
    let line = |desk: &mut Desk, key: &str| {
        fields
            .need(desk, key)
            .and_then(|f| f.names(desk, Kind::Point))
    };
    Some(match form {
        "at" => Form::At(fields.need(desk, "at")?.lengths(desk)?),
        "from" => {
            let from = point(desk, "from");
            if let Some(by) = fields.get("by") {
                for other in ["reach", "angle"].iter().filter_map(|key| fields.get(key)) {
                    fields.clash(desk, &by, &other);
                }
                Form::By {
                    by: by.lengths(desk)?,
                    from: from?,
                }
            } else {
                let reach = fields.one_of(desk, &["reach", "by"]);
                let reach = reach.map(|f| {
                    let reach = f.length(desk);
                    if let Some(mm) = reach.filter(|mm| *mm < 0.0) {
                        desk.push(
                            Diagnostic::warning(
                                "backwards",
                                format!("a reach of {} goes against its angle", desk.show(mm)),
                            )
                            .at(f.place(), "")
                            .help(format!(
                                "write {} and turn the angle by 180 deg, if that is meant",
                                desk.show(-mm)
                            )),
                        );
                    }
                    reach
                });
                // Without a reach either there is one thing to say, not two.
                let angle = if reach.is_some() {
                    fields.need(desk, "angle")
                } else {
                    fields.get("angle")
                };
                let angle = angle.and_then(|f| f.angle(desk));
                Form::Reach {
                    reach: reach??,
                    angle: angle?,
                    from: from?,
                }
            }
        }
        "swing" => {
            let take = fields
                .need(desk, "take")
                .and_then(|f| f.word(desk, &PICK_WORDS));
            let swing = fields.need(desk, "swing")?;
            if fields.get("on").is_some() {
                let on = line(desk, "on");
                let [centre, radius] =
                    swing.pair(desk, "one centre and its radius: the other line is `on`")?;
                let (centre, radius) =
                    (centre.name(desk, Kind::Point), radius.positive_length(desk));
                return Some(Form::SwingOn {
                    centre: centre?,
                    radius: radius?,
                    on: on?,
                    take: PICKS.get(take?).copied()?,
                });
            }
            let (centres, radii) = arcs(desk, &swing)?;
            Form::Swing {
                centres,
                radii,
                take: PICKS.get(take?).copied()?,
            }
        }
        "on" => {
            let ends = line(desk, "on");
            let by = fields.one_of(desk, &["reach", "share"])?;
            if by.key == "share" {
                let share = by.number(desk)?;
                if share.abs() > 1e6 {
                    by.bad(
                        desk,
                        format!("a share of {share:e} lies far off the line"),
                        "0 is the first point, 1 the second, 0.5 the middle",
                    );
                    return None;
                }
                Form::OnShare { share, ends: ends? }
            } else {
                Form::OnReach {
                    reach: by.length(desk)?,
                    ends: ends?,
                }
            }
        }
        "mirror" => {
            let (point, across) = (point(desk, "mirror"), line(desk, "across"));
            Form::Mirror {
                point: point?,
                across: across?,
            }
        }
        "circle" => {
            let hub = point(desk, "circle");
            let radius = fields
                .need(desk, "radius")
                .and_then(|f| f.positive_length(desk));
            let count = fields
                .need(desk, "count")
                .and_then(|f| f.whole(desk, 1, MOST_HOLES));
            let most = count
                .and_then(|n| i64::try_from(n).ok())
                .unwrap_or(MOST_HOLES);
            let number = fields.need(desk, "number");
            let number = number.and_then(|f| f.whole(desk, 1, most));
            let first = fields.get("first").map_or(Some(0.0), |f| f.angle(desk));
            let angle = first? + TAU * (number? - 1) as f64 / count? as f64;
            Form::Circle {
                hub: hub?,
                radius: radius?,
                angle,
            }
        }
        "foot" => {
            let (point, on) = (point(desk, "foot"), line(desk, "on"));
            Form::Foot {
                point: point?,
                on: on?,
            }
        }
        "meet" => {
            let [first, second] = fields
                .need(desk, "meet")?
                .pair(desk, "two lines of two points each")?;
            let (first, second) = (
                first.names(desk, Kind::Point),
                second.names(desk, Kind::Point),
            );
            Form::Meet {
                first: first?,
                second: second?,
            }
        }
        _ => {
            fields.need(desk, "plane");
            Form::Project(point(desk, "project")?)
        }
    })
}

/// Two arcs, each a centre and a radius.
fn arcs(desk: &mut Desk, field: &Field) -> Option<([PointId; 2], [f64; 2])> {
    let arcs = field.pair(desk, "two arcs, each a centre and a radius")?;
    let read: [Option<(PointId, f64)>; 2] = arcs.map(|arc| {
        let [centre, radius] = arc.pair(desk, "a centre and a radius in each arc")?;
        let (centre, radius) = (centre.name(desk, Kind::Point), radius.positive_length(desk));
        Some((centre?, radius?))
    });
    let [first, second] = read;
    let ((a, r), (b, s)) = (first?, second?);
    if a == b {
        let name = desk.name(Kind::Point, a);
        desk.push(
            Diagnostic::error("same-twice", format!("both arcs have the centre `{name}`"))
                .at(arcs[1].place(), "")
                .help("arcs round one point never cross; name two points"),
        );
        return None;
    }
    Some(([a, b], [r, s]))
}
