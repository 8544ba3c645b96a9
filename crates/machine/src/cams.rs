//! Cams and what rides on them.

use std::f64::consts::TAU;

use elements::cams::{Law, Piece, Program, Spline};
use quantity::Kind as Measure;

use crate::declared::Named;
use crate::desk::{Desk, Kind};
use crate::diagnostic::Diagnostic;
use crate::fields::{Entry, Field, Fields, Shape};
use crate::ground::{CLOSE, Ground};
use crate::guides::{moving, planes};
use crate::model::{Cam, FRAME, PartId, PointId, Reading, Rides, Slide};
use crate::teeth::Told;
use crate::vector::{cross, dot, length, sub};
use crate::words::clip;

const CAM: Shape = Shape {
    a: "a cam",
    keys: &[
        ("on", "on = \"camshaft\""),
        ("roller", "roller = \"lift-roller\""),
        ("of", "of = \"lifter\""),
        ("diameter", "diameter = \"19 mm\""),
        (
            "program",
            "program = [{ rise = \"6 mm\", over = \"90 deg\" }, { dwell = \"60 deg\" }, { return = \"6 mm\", over = \"90 deg\" }, { dwell = \"rest\" }]",
        ),
        (
            "table",
            "table = [[\"0 deg\", \"0 mm\"], [\"120 deg\", \"6 mm\"], [\"240 deg\", \"2 mm\"]]",
        ),
        ("law", "law = \"cycloidal\""),
        ("reading", "reading = \"gap\""),
        ("at", "at = \"0 deg\""),
        ("turns", "turns = \"clockwise\""),
        ("track", "track = true"),
        ("face", "face = \"10 mm\""),
        ("steepest", "steepest = \"30 deg\""),
        ("cutter", "cutter = \"10 mm\""),
    ],
};

const PIECE: Shape = Shape {
    a: "a piece of a program",
    keys: &[
        ("rise", "rise = \"6 mm\""),
        ("return", "return = \"6 mm\""),
        ("dwell", "dwell = \"60 deg\""),
        ("over", "over = \"90 deg\""),
        ("law", "law = \"cycloidal\""),
        ("blend", "blend = 0.25"),
    ],
};

/// Angles that add up to a turn as nearly as this do, rad.
const WHOLE: f64 = 1e-6;
/// Lifts that come back as nearly as this do, mm or rad.
const BACK: f64 = 1e-6;
/// The law of a piece that names none.
const USUAL_LAW: Law = Law::ModifiedSine;

/// What cams are read from.
pub(crate) struct Base<'a> {
    pub(crate) ground: &'a Ground,
    pub(crate) slides: &'a [Option<Slide>],
    pub(crate) readings: &'a [Option<Reading>],
}

/// Reads all cams; those that are broken are `None`.
pub(crate) fn read(desk: &mut Desk, base: &Base, named: &[Named]) -> Vec<Option<Cam>> {
    named.iter().map(|n| cam(desk, base, n)).collect()
}

fn cam(desk: &mut Desk, base: &Base, named: &Named) -> Option<Cam> {
    let ground = base.ground;
    let fields = Fields::new(desk, named.what(), &CAM, &named.entry)?;
    let on_field = fields.need(desk, "on");
    let on = on_field.and_then(|f| moving(desk, &f, "turns"));
    let roller_field = fields.need(desk, "roller");
    let roller = roller_field.and_then(|f| f.name(desk, Kind::Point));
    let diameter = fields
        .need(desk, "diameter")
        .and_then(|f| f.positive_length(desk));
    let face = optional(desk, &fields, "face", |d, f| f.positive_length(d));
    let cutter = optional(desk, &fields, "cutter", |d, f| f.positive_length(d));
    let steepest = optional(desk, &fields, "steepest", steep);
    let at = fields.get("at").map_or(Some(0.0), |f| f.angle(desk));
    let sense = fields.get("turns").map_or(Some(1.0), |f| {
        let word = f.word(desk, &["counter-clockwise", "clockwise"])?;
        Some(if word == 0 { 1.0 } else { -1.0 })
    });
    let track = fields.get("track").map_or(Some(false), |f| f.truth(desk));
    let reading = optional(desk, &fields, "reading", |d, f| reading(d, base, f));
    let of = match (roller, roller_field) {
        (Some(roller), Some(field)) => ground.carrier(desk, &fields, "of", roller, &field),
        _ => None,
    };
    let guided = match (on, of, roller, roller_field, on_field) {
        (Some(on), Some(of), Some(roller), Some(field), Some(on_field)) => {
            guided(desk, base, [on, of], roller, [&on_field, &field])
        }
        _ => None,
    };
    let turned = match (reading, &guided) {
        (Ok(Some(r)), _) => base
            .readings
            .get(r)
            .and_then(Option::as_ref)
            .map(|r| r.unit.kind() == Measure::Angle),
        (Ok(None), Some(guided)) => Some(matches!(guided.rides, Rides::Rocker(_))),
        _ => None,
    };
    let measure = turned.map(|turned| {
        if turned {
            Measure::Angle
        } else {
            Measure::Length
        }
    });
    let motion = motion(desk, &fields, measure);
    let (guided, program, diameter) = (guided?, motion?, diameter?);
    let cam = Cam {
        name: named.entry.name.to_owned(),
        part: on?,
        host: guided.host,
        centre: guided.centre,
        roller: roller?,
        of: of?,
        rides: guided.rides,
        diameter,
        sense: sense?,
        at: at?,
        program,
        reading: reading.ok()?,
        track: track?,
        face: face.ok()?,
        steepest: steepest.ok()?,
        cutter: cutter.ok()?,
        place: named.entry.place,
    };
    drawn(desk, base, &cam, &roller_field?)?;
    Some(cam)
}

/// The value of a key that may be left out.
fn optional<T>(
    desk: &mut Desk,
    fields: &Fields,
    key: &str,
    read: impl FnOnce(&mut Desk, &Field) -> Option<T>,
) -> Result<Option<T>, Told> {
    match fields.get(key) {
        None => Ok(None),
        Some(field) => read(desk, &field).map(Some).ok_or(Told),
    }
}

fn steep(desk: &mut Desk, field: &Field) -> Option<f64> {
    let angle = field.angle(desk)?;
    if angle > 0.0 && angle < 80f64.to_radians() {
        return Some(angle);
    }
    field.bad(
        desk,
        "no follower moves at such a pressure angle",
        "write the steepest that is allowed: 30 deg on a slide and 35 deg on a rocker are common practice",
    );
    None
}

fn reading(desk: &mut Desk, base: &Base, field: &Field) -> Option<usize> {
    let index = field.name(desk, Kind::Reading)?;
    let reading = base.readings.get(index).and_then(Option::as_ref)?;
    if matches!(reading.measures, crate::model::Measures::Over { .. }) {
        let name = desk.name(Kind::Reading, index);
        field.bad(
            desk,
            format!("{name} is taken over a drive, so it has no value at one turn of the cam"),
            "name the reading that it is taken of",
        );
        return None;
    }
    Some(index)
}

/// How the follower is guided against the cam.
struct Guided {
    host: PartId,
    centre: PointId,
    rides: Rides,
}

/// Finds the part on which both the cam turns and the follower goes.
fn guided(
    desk: &mut Desk,
    base: &Base,
    [on, of]: [PartId; 2],
    roller: PointId,
    [on_field, roller_field]: [&Field; 2],
) -> Option<Guided> {
    let ground = base.ground;
    let (cam, follower) = (ground.what(on), ground.what(of));
    if ground.turns_with(on) == ground.turns_with(of) {
        let name = desk.name(Kind::Point, roller);
        roller_field.bad(
            desk,
            format!("{name} turns with the cam itself and cannot ride on it"),
            "name a point of the part that follows",
        );
        return None;
    }
    if of == FRAME {
        let name = desk.name(Kind::Point, roller);
        roller_field.bad(
            desk,
            format!("the frame carries {name}, which therefore cannot follow"),
            "name a point of a part on a slide, or of one that is pinned as a rocker",
        );
        return None;
    }
    planes(desk, ground, roller_field, on, of)?;
    if !ground.whole {
        return None;
    }
    let turns_on = |host: PartId| shared(ground, on, host);
    let mut slides = base.slides.iter().enumerate().filter_map(|(i, s)| {
        let s = s.as_ref()?;
        (s.part == of).then_some((i, s.on))
    });
    if let Some((slide, host)) = slides.next() {
        if slides.next().is_some() {
            roller_field.bad(
                desk,
                format!("{follower} is on two slides, so it moves on neither by itself"),
                "let a part ride on the cam that is on one slide",
            );
            return None;
        }
        let Some(centre) = turns_on(host) else {
            not_pinned(desk, on_field, &cam, &ground.what(host), "slides");
            return None;
        };
        return Some(Guided {
            host,
            centre,
            rides: Rides::Slide(slide),
        });
    }
    // The frame before all others.
    let hosts = (0..ground.parts.len()).filter(|&host| {
        ground.turns_with(host) != ground.turns_with(on)
            && ground.turns_with(host) != ground.turns_with(of)
    });
    for host in hosts {
        if let (Some(centre), Some(pivot)) = (turns_on(host), shared(ground, of, host)) {
            return Some(Guided {
                host,
                centre,
                rides: Rides::Rocker(pivot),
            });
        }
    }
    desk.push(
        Diagnostic::error(
            "not-guided",
            format!("nothing carries both the pivot of {cam} and a slide or a pivot of {follower}"),
        )
        .at(roller_field.place(), "")
        .help(format!(
            "put {follower} on a slide, or let the part on which {cam} turns carry a point of {follower} as its pivot"
        )),
    );
    None
}

/// The point by which a part (or what it is clamped to) is pinned to another.
pub(crate) fn shared(ground: &Ground, part: PartId, host: PartId) -> Option<PointId> {
    let root = ground.part(ground.turns_with(part))?;
    let mut points = root.carries.iter().copied();
    points.find(|&p| ground.carries(host, p))
}

fn not_pinned(desk: &mut Desk, field: &Field, cam: &str, on: &str, does: &str) {
    desk.push(
        Diagnostic::error(
            "not-pinned",
            format!("{cam} does not turn on {on}, on which the follower {does}: no point is carried by both"),
        )
        .at(field.place(), "")
        .help(format!("let {on} carry the centre of {cam}")),
    );
}

/// The program as pieces or as a table.
fn motion(desk: &mut Desk, fields: &Fields, measure: Option<Measure>) -> Option<Program> {
    let law = fields.get("law").map_or(Some(USUAL_LAW), |f| law(desk, &f));
    let form = fields.one_of(desk, &["program", "table"])?;
    let measure = measure?;
    if form.key == "table" {
        fields.only_with(desk, &["law"], "`program`");
        return table(desk, &form, measure);
    }
    pieces(desk, &form, law?, measure)
}

fn law(desk: &mut Desk, field: &Field) -> Option<Law> {
    let names = Law::ALL.map(Law::name);
    let word = field.word(desk, &names)?;
    Law::ALL.get(word).copied()
}

fn table(desk: &mut Desk, field: &Field, measure: Measure) -> Option<Program> {
    let items = field.list(desk, "a list of pairs: angle of the cam and lift")?;
    let mut points: Vec<(f64, f64)> = Vec::with_capacity(items.len());
    let mut closed = false;
    for item in &items {
        let [angle, lift] = item.pair(desk, "an angle of the cam and a lift")?;
        let (turn, lift) = (angle.angle(desk), lift.quantity(desk, measure));
        let (turn, lift) = (turn?, lift?.value);
        // A table may close with its first row, a whole turn on.
        if let Some(&(first, start)) = points.first()
            && (turn - first - TAU).abs() <= WHOLE
        {
            if (lift - start).abs() <= BACK {
                closed = true;
                continue;
            }
            angle.bad(
                desk,
                format!(
                    "{:.2} deg is the first place again, where the lift is another",
                    turn.to_degrees()
                ),
                "give it the lift of the first row, or leave it out: after the last row it goes on to the first",
            );
            return None;
        }
        if closed || points.last().is_some_and(|last| turn <= last.0) || !(0.0..TAU).contains(&turn)
        {
            angle.bad(
                desk,
                if turn >= TAU {
                    format!("{:.2} deg lies beyond the turn", turn.to_degrees())
                } else {
                    format!("{:.2} deg does not come after the angle before, within one turn", turn.to_degrees())
                },
                "write the angles in rising order, from 0 deg to less than 360 deg; after the last it goes on to the first",
            );
            return None;
        }
        points.push((turn, lift));
    }
    match Spline::closed(&points) {
        Ok(spline) => Some(Program::Through(spline)),
        Err(error) => {
            field.bad(
                desk,
                error.to_string(),
                "write three points or more, spread over the turn",
            );
            None
        }
    }
}

fn pieces(desk: &mut Desk, field: &Field, usual: Law, measure: Measure) -> Option<Program> {
    let items = field.list(desk, "a list of rises, dwells and returns")?;
    let mut pieces: Vec<Piece> = Vec::with_capacity(items.len());
    let mut rest: Option<(usize, Field)> = None;
    let mut lift = 0.0;
    let mut sound = true;
    for item in &items {
        let Some((piece, is_rest)) = piece(desk, item, usual, measure, lift) else {
            sound = false;
            continue;
        };
        if is_rest {
            if rest.is_some() {
                item.bad(
                    desk,
                    "two dwells take the rest of the turn",
                    "write the angle of one of them: `{ dwell = \"60 deg\" }`",
                );
                return None;
            }
            rest = Some((pieces.len(), *item));
        }
        lift = piece.to;
        pieces.push(piece);
    }
    if !sound {
        return None;
    }
    let sum: f64 = pieces.iter().map(|p| p.over).sum();
    let left = TAU - sum;
    match rest {
        Some((at, item)) => {
            if left <= WHOLE {
                item.bad(
                    desk,
                    format!(
                        "the other pieces take {:.4} deg already: nothing is left of the turn",
                        sum.to_degrees()
                    ),
                    "make other pieces shorter, or take this one out",
                );
                return None;
            }
            if let Some(piece) = pieces.get_mut(at) {
                piece.over = left;
            }
        }
        None if left.abs() > WHOLE => {
            field.bad(
                desk,
                format!(
                    "the pieces take {:.4} deg, not one turn of 360 deg",
                    sum.to_degrees()
                ),
                if left > 0.0 {
                    "let a dwell take what is left: `{ dwell = \"rest\" }`"
                } else {
                    "make pieces shorter"
                },
            );
            return None;
        }
        None => {}
    }
    if lift.abs() > BACK {
        let (by, word) = (lift.abs(), if lift > 0.0 { "return" } else { "rise" });
        let by = if measure == Measure::Angle {
            format!("{:.4} deg", by.to_degrees())
        } else {
            desk.show_exactly(by)
        };
        field.bad(
            desk,
            format!("the program does not come back to where it began: it ends {by} off"),
            format!("add `{{ {word} = \"{by}\", over = .. }}`, or change a piece by so much"),
        );
        return None;
    }
    if let Some(last) = pieces.last_mut() {
        last.to = 0.0;
    }
    match Program::of_pieces(pieces) {
        Ok(program) => Some(program),
        Err(error) => {
            field.bad(
                desk,
                error.to_string(),
                "write rises, dwells and returns that make one turn",
            );
            None
        }
    }
}

/// One piece from this lift on, and whether it takes the rest of the turn.
fn piece(
    desk: &mut Desk,
    item: &Field,
    usual: Law,
    measure: Measure,
    from: f64,
) -> Option<(Piece, bool)> {
    let entry = Entry {
        name: item.key,
        place: item.place(),
        node: item.node,
    };
    let fields = Fields::new(desk, "this piece".to_owned(), &PIECE, &entry)?;
    let form = fields.one_of(desk, &["rise", "return", "dwell"])?;
    if form.key == "dwell" {
        fields.only_with(desk, &["over", "law", "blend"], "a rise or a return");
        if matches!(form.node.value, crate::fields::Value::Text("rest")) {
            let piece = Piece {
                over: 0.0,
                to: from,
                law: usual,
            };
            return Some((piece, true));
        }
        let over = turn(desk, &form)?;
        let piece = Piece {
            over,
            to: from,
            law: usual,
        };
        return Some((piece, false));
    }
    let amount = form.quantity(desk, measure);
    let over = fields.need(desk, "over").and_then(|f| {
        let over = turn(desk, &f)?;
        if over < STEEPEST {
            f.bad(
                desk,
                format!(
                    "no follower rises or returns within {:.4} deg of a cam",
                    over.to_degrees()
                ),
                "write at least 0.1 deg; some 30 deg and more are usual",
            );
            return None;
        }
        Some(over)
    });
    let own = fields.get("law").map_or(Some(usual), |f| law(desk, &f));
    let blend = optional(desk, &fields, "blend", |d, f| f.number(d));
    let (amount, over, own, blend) = (amount?, over?, own?, blend.ok()?);
    if amount.value <= 0.0 {
        let other = if form.key == "rise" { "return" } else { "rise" };
        form.bad(
            desk,
            format!(
                "a {} of {} goes nowhere or the other way",
                form.key,
                clip(amount.show())
            ),
            format!("write it above zero, as a {other}, or as a dwell"),
        );
        return None;
    }
    let law = match (own, blend, fields.get("blend")) {
        (Law::ConstantVelocity { .. }, Some(blend), Some(field)) => {
            match (Law::ConstantVelocity { blend }).checked() {
                Ok(law) => law,
                Err(error) => {
                    field.bad(
                        desk,
                        error.to_string(),
                        "a quarter is usual: `blend = 0.25`",
                    );
                    return None;
                }
            }
        }
        (law, ..) => {
            if !matches!(law, Law::ConstantVelocity { .. }) {
                fields.only_with(desk, &["blend"], "law \"constant velocity\"");
            }
            law
        }
    };
    let by = if form.key == "rise" {
        amount.value
    } else {
        -amount.value
    };
    let piece = Piece {
        over,
        to: from + by,
        law,
    };
    Some((piece, false))
}

/// Least turn of a cam, rad, in which its follower can come anywhere: below a tenth of a degree no cutter makes it, and it is a slip of the pen.
const STEEPEST: f64 = 0.1 * std::f64::consts::PI / 180.0 - 1e-12;

/// An angle of the cam that a piece takes.
fn turn(desk: &mut Desk, field: &Field) -> Option<f64> {
    let angle = field.angle(desk)?;
    if angle > 0.0 && angle <= TAU + WHOLE {
        return Some(angle);
    }
    field.bad(
        desk,
        format!(
            "a piece cannot take {:.4} deg of the cam",
            angle.to_degrees()
        ),
        "write an angle above 0 deg, up to 360 deg",
    );
    None
}

/// The roller has to stand where a follower can reach it.
fn drawn(desk: &mut Desk, base: &Base, cam: &Cam, field: &Field) -> Option<()> {
    let ground = base.ground;
    let near = CLOSE * ground.size;
    let (centre, roller) = (ground.spot(cam.centre)?.at, ground.spot(cam.roller)?.at);
    let arm = sub(roller, centre);
    let names = [cam.centre, cam.roller].map(|p| desk.name(Kind::Point, p));
    if length(arm) <= near {
        field.bad(
            desk,
            format!("{} lies at the centre of the cam", names[1]),
            "draw the roller where it stands on the cam",
        );
        return None;
    }
    match cam.rides {
        Rides::Slide(slide) => {
            let along = base.slides.get(slide)?.as_ref()?.along;
            let way = [along.cos(), along.sin()];
            if dot(way, arm).abs() <= near {
                field.bad(
                    desk,
                    format!("{} stands beside {}: its slide neither leads it away from the centre nor towards it", names[1], names[0]),
                    "draw the roller farther out along its slide, or turn the slide",
                );
                return None;
            }
        }
        Rides::Rocker(pivot) => {
            let pivot_at = ground.spot(pivot)?.at;
            let line = sub(pivot_at, centre);
            let pivot = desk.name(Kind::Point, pivot);
            if length(sub(roller, pivot_at)) <= near {
                field.bad(
                    desk,
                    format!("{} lies at the pivot {pivot} and cannot swing", names[1]),
                    "draw the roller at the end of its arm",
                );
                return None;
            }
            if cross(line, arm).abs() <= near * length(line) {
                field.bad(
                    desk,
                    format!(
                        "{} stands in line with {} and {pivot}: an arm there can go to either side",
                        names[1], names[0]
                    ),
                    "draw the roller off the line between the two",
                );
                return None;
            }
        }
    }
    if 0.5 * cam.diameter >= length(arm) {
        let apart = desk.show(length(arm));
        field.bad(
            desk,
            format!(
                "a roller of {} diameter at {apart} from the centre leaves no cam",
                desk.show(cam.diameter)
            ),
            "draw the roller farther out, or take a smaller one",
        );
        return None;
    }
    Some(())
}
