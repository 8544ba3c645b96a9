//! The table beside a plate: places of holes, slots, points and corners, what each kind of hole is, and what holds for all of it.

use super::callout;
use super::corners::{self, Corner};
use super::patterns::Pattern;
use crate::font;
use crate::geometry::P;
use crate::packet::texture;
use crate::sheet::{Group, Hand, Hold, Lettering, Pen, Shape};
use machine::fitting::Fitted;
use shop::letters::{kinds, letter, names};
use shop::part::{EdgeHole, Part, Plate};
use shop::words::{self, Units};

/// Height of a line and of its lettering, mm.
const LINE: f64 = 4.6;
const TEXT: f64 = 2.2;
/// Most width of the notes where they stand in a column of their own, mm.
pub(super) const NOTES: f64 = 80.0;

/// Where the text of a kind of hole begins, mm; where holes are told from one to another by their names.
const SAID: f64 = 15.0;
const SAID_OF_MANY: f64 = 20.0;

/// Where the columns stand, mm.
pub(super) struct Columns {
    /// Right ends of x and y, left end of what is said.
    x: f64,
    y: f64,
    said: f64,
    pub(super) wide: f64,
}

impl Columns {
    fn of(units: Units) -> Self {
        if units.beside.is_some() {
            Self {
                x: 46.0,
                y: 78.0,
                said: 81.0,
                wide: 130.0,
            }
        } else {
            Self {
                x: 34.0,
                y: 54.0,
                said: 57.0,
                wide: 104.0,
            }
        }
    }
}

/// A place with its coordinates.
struct Place {
    name: String,
    at: P,
    said: String,
}

/// All that stands in it.
pub(super) struct Table {
    pub(super) columns: Columns,
    units: Units,
    places: Vec<Place>,
    /// Letter and text of each kind of hole.
    kinds: Vec<(String, String)>,
    /// Where their text begins, mm.
    said: f64,
    notes: Vec<String>,
}

impl Table {
    pub(super) fn new(part: &Part, p: &Plate, corners: &[Corner], units: Units) -> Self {
        let (_, firsts) = kinds(p);
        let mut kinds: Vec<(String, String)> = firsts
            .iter()
            .enumerate()
            .map(|(k, &first)| (letter(k), callout(&p.holes[first], units)))
            .collect();
        let formed = super::patterns::of(p);
        kinds.extend(formed.iter().map(|f| (f.name.clone(), f.words(units))));
        for (n, e) in p.edge_holes.iter().enumerate() {
            let same = |o: &EdgeHole| o.fitted == e.fitted && o.depth == e.depth;
            let count = p.edge_holes.iter().filter(|o| same(o)).count();
            if !p.edge_holes.iter().take(n).any(same) {
                let times = if count > 1 {
                    format!("{count} x ")
                } else {
                    String::new()
                };
                let text = format!("{times}{}", edge_text(p, e, units));
                kinds.push((edge_name(p, n), text));
            }
        }
        let mut notes = super::notes(part, units);
        if p.ends.iter().any(|e| e.hub.is_some() && !e.solid) {
            notes.push("Hubs are rings that are brazed on, bored with the plate.".to_owned());
        }
        Self {
            columns: Columns::of(units),
            units,
            places: places(p, &formed, corners, units),
            kinds,
            said: if formed.is_empty() {
                SAID
            } else {
                SAID_OF_MANY
            },
            notes,
        }
    }

    fn kind_lines(&self) -> Vec<(String, String)> {
        let room = self.columns.wide - self.said - 2.0;
        let broken = |(head, text): &(String, String)| {
            let lines = font::wrapped(&font::clean(text), TEXT, Hand::Note, room);
            let head = head.clone();
            lines
                .into_iter()
                .enumerate()
                .map(move |(n, l)| (if n == 0 { head.clone() } else { String::new() }, l))
                .collect::<Vec<_>>()
        };
        self.kinds.iter().flat_map(broken).collect()
    }

    fn said_lines(&self, p: &Place) -> Vec<String> {
        let room = self.columns.wide - self.columns.said - 1.0;
        font::wrapped(&font::clean(&p.said), TEXT, Hand::Note, room)
    }

    fn note_lines(&self, wide: f64) -> Vec<String> {
        let broken = |n: &String| font::wrapped(&font::clean(n), TEXT, Hand::Note, wide - 2.0);
        self.notes.iter().flat_map(broken).collect()
    }

    /// How tall places and kinds are.
    pub(super) fn holes_tall(&self) -> f64 {
        if self.places.is_empty() && self.kinds.is_empty() {
            return 0.0;
        }
        let kinds = self.kind_lines().len();
        let places = self.places.iter().map(|p| self.said_lines(p).len());
        let rows = 1 + places.sum::<usize>() + kinds;
        rows as f64 * LINE + if kinds > 0 { 4.0 } else { 2.0 }
    }

    /// How tall the notes are in a column of this width.
    pub(super) fn notes_tall(&self, wide: f64) -> f64 {
        self.note_lines(wide).len() as f64 * LINE + texture::TALL + 1.0
    }

    /// Draws places at one place and notes at another, nothing below `bottom`.
    pub(super) fn draw(&self, g: &mut Group, holes: P, (notes, wide): (P, f64), bottom: f64) {
        let c = &self.columns;
        let mut y = holes[1];
        let own = notes[0] > holes[0] + 1.0;
        let put = |g: &mut Group, x: f64, y: f64, text: &str, hold: Hold, hand: Hand| {
            let at = [x, y + LINE - 1.3];
            g.letter(Lettering::new(at, text, TEXT, hold, hand));
        };
        let rule = |g: &mut Group, y: f64| {
            g.draw(
                Pen::Narrow,
                Shape::line([holes[0], y], [holes[0] + c.wide, y]),
            );
        };
        if !self.places.is_empty() || !self.kinds.is_empty() {
            let heads = [
                (1.0, "hole", Hold::Start),
                (c.x, "x", Hold::End),
                (c.y, "y", Hold::End),
                (c.said, "point", Hold::Start),
            ];
            for (x, text, hold) in heads {
                put(g, holes[0] + x, y, text, hold, Hand::Name);
            }
            y += LINE;
            rule(g, y);
            let kinds = self.kind_lines();
            // Places stand in other papers too, notes do not: where both share the column, notes keep their room.
            let below = if own {
                0.0
            } else {
                self.notes_tall(c.wide) + f64::from(u8::from(!kinds.is_empty()))
            };
            let last = bottom - kinds.len() as f64 * LINE - 3.0 - below;
            for (n, p) in self.places.iter().enumerate() {
                // The line that says where the rest stands has to fit too.
                let rest = usize::from(n + 1 < self.places.len());
                if y + (self.said_lines(p).len() + rest) as f64 * LINE > last {
                    let text = "… all places stand on the operation sheet and in holes.csv";
                    put(g, holes[0] + 1.0, y, text, Hold::Start, Hand::Note);
                    y += LINE;
                    break;
                }
                put(g, holes[0] + 1.0, y, &p.name, Hold::Start, Hand::Note);
                let [px, py] = p.at.map(|q| {
                    if q.is_finite() {
                        words::coordinate(q, self.units)
                    } else {
                        String::new()
                    }
                });
                put(g, holes[0] + c.x, y, &px, Hold::End, Hand::Note);
                put(g, holes[0] + c.y, y, &py, Hold::End, Hand::Note);
                for said in self.said_lines(p) {
                    put(g, holes[0] + c.said, y, &said, Hold::Start, Hand::Note);
                    y += LINE;
                }
            }
            y += 1.5;
            rule(g, y);
            if !kinds.is_empty() {
                for (head, text) in kinds {
                    put(g, holes[0] + 1.0, y, &head, Hold::Start, Hand::Name);
                    put(g, holes[0] + self.said, y, &text, Hold::Start, Hand::Note);
                    y += LINE;
                }
                y += 1.0;
                rule(g, y);
            }
            y += 1.5;
        }
        // Notes follow in the same column, or have their own.
        let (x, mut y) = if own || self.places.is_empty() {
            (notes[0], notes[1])
        } else {
            (holes[0], y)
        };
        let wide = if own { wide } else { c.wide };
        for text in self.note_lines(wide) {
            if y + LINE > bottom {
                break;
            }
            put(g, x + 1.0, y, &text, Hold::Start, Hand::Note);
            y += LINE;
        }
        if y + texture::TALL <= bottom {
            texture::marks(g, [x, y]);
        } else if y + LINE <= bottom {
            put(g, x + 1.0, y, &texture::words(), Hold::Start, Hand::Note);
        }
    }
}

/// Every place that is needed to make the plate: holes, slots, holes from the edge, points that round ends stand about, corners.
fn places(p: &Plate, formed: &[Pattern], corners: &[Corner], units: Units) -> Vec<Place> {
    let mut all = Vec::new();
    let l = |x: f64| words::length(x, units);
    for (n, (h, name)) in p.holes.iter().zip(names(p)).enumerate() {
        if formed.iter().any(|f| f.holes.contains(&n)) {
            continue;
        }
        let said = h.place.map_or_else(
            || words::spoken(&h.name),
            |t| format!("{} ± {}", words::spoken(&h.name), l(t)),
        );
        all.push(Place {
            name,
            at: h.at,
            said,
        });
    }
    for (n, s) in p.slots.iter().enumerate() {
        let number = if p.slots.len() > 1 {
            format!(" {}", n + 1)
        } else {
            String::new()
        };
        for (at, end) in s.ends.iter().zip(["from", "to"]) {
            all.push(Place {
                name: format!("slot{number} {end}"),
                at: *at,
                said: format!("{}, middle of its end", words::spoken(&s.name)),
            });
        }
    }
    for (n, e) in p.edge_holes.iter().enumerate() {
        all.push(Place {
            name: edge_name(p, n),
            at: e.enters,
            said: format!(
                "{}, in from {}°",
                words::spoken(&e.name),
                words::number(e.from.to_degrees().rem_euclid(360.0), 2)
            ),
        });
    }
    for (name, at) in &p.marks {
        let round = p
            .ends
            .iter()
            .find(|e| (e.at[0] - at[0]).hypot(e.at[1] - at[1]) < 1e-6);
        all.push(Place {
            name: "+".to_owned(),
            at: *at,
            said: match round {
                Some(e) => format!("{}, no hole, R{}", words::spoken(name), l(e.radius)),
                None => format!("{}, no hole", words::spoken(name)),
            },
        });
    }
    for (n, c) in corners.iter().enumerate() {
        let mut arc = None;
        let mut said = match c.round {
            Some(r) => format!("corner, R{}", l(r)),
            None => "corner, sharp".to_owned(),
        };
        if let Some((centre, radius)) = c.arc {
            let [x, y] = centre.map(|q| words::coordinate(q, units.first));
            said = format!("R{} about", l(radius));
            arc = Some(format!("x {x} y {y}"));
        }
        all.push(Place {
            name: corners::name(n),
            at: c.at,
            said,
        });
        // Where the arc that goes on from it has its centre, in a line of its own.
        if let Some(text) = arc {
            all.push(Place {
                name: String::new(),
                at: [f64::NAN; 2],
                said: text,
            });
        }
    }
    all
}

/// Name of a hole from the edge.
pub(super) fn edge_name(p: &Plate, n: usize) -> String {
    if p.edge_holes.len() > 1 {
        format!("edge {}", n + 1)
    } else {
        "edge".to_owned()
    }
}

/// What a hole from the edge is.
pub(super) fn edge_text(p: &Plate, e: &EdgeHole, units: Units) -> String {
    let at = |x: f64| words::length(x, units);
    let middle = if p.ends.iter().any(|e| e.hub.is_some()) {
        format!("{} from the back face", at(p.thickness / 2.0))
    } else {
        "in the middle of the thickness".to_owned()
    };
    if let Some((into, wall)) = super::edges::opens(p, e) {
        return format!(
            "{}, into {into} through {} of metal, {middle}",
            words::hole(&e.fitted, units),
            at(wall),
        );
    }
    let how = if matches!(e.fitted, Fitted::Tapped { .. }) {
        "drilled"
    } else {
        "hole"
    };
    format!(
        "{}, {how} {} deep, {middle}",
        words::hole(&e.fitted, units),
        at(e.depth),
    )
}
