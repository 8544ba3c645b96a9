//! Sheets of the packet: paper, frame, title block, check bars, and text that flows from sheet to sheet.

use crate::font::{self, SMALL};
use crate::geometry::P;
use crate::sheet::{Group, Hand, Hold, Lettering, Pen, Shape, Sheet};
use crate::symbols;
use quantity::Unit;
use shop::words::Units;

/// Paper to print on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Leaf {
    /// 210 x 297 mm.
    #[default]
    A4,
    /// 8.5 x 11 in.
    Letter,
}

impl Leaf {
    /// Width and height upright, mm.
    pub fn size(self) -> [f64; 2] {
        match self {
            Self::A4 => [210.0, 297.0],
            Self::Letter => [215.9, 279.4],
        }
    }

    /// Whether views stand on the side from which they are seen: ISO 5456-2 knows both ways, and shops that print on letter paper read this one.
    pub fn third_angle(self) -> bool {
        self == Self::Letter
    }
}

/// How sheets are printed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Print {
    /// The paper.
    pub leaf: Leaf,
    /// Inches stand in brackets behind millimetres, or millimetres behind inches.
    pub dual: bool,
}

impl From<Leaf> for Print {
    fn from(leaf: Leaf) -> Self {
        Self { leaf, dual: false }
    }
}

impl Print {
    /// The units of drawings of a machine in this unit.
    pub(super) fn units(self, unit: Unit) -> Units {
        if self.dual {
            Units::both(unit)
        } else {
            unit.into()
        }
    }
}

/// Free edge all round, mm: printers leave about 5 blank.
pub(super) const MARGIN: f64 = 12.0;
/// Height of the block with the check bars, mm.
pub(super) const FOOT: f64 = 22.0;

/// What stands in the title block.
#[derive(Clone, Debug, Default)]
pub(super) struct Block {
    /// The machine.
    pub(super) machine: String,
    /// The sheet: part and what it shows.
    pub(super) title: String,
    /// Material, stock, count and such, a line each.
    pub(super) facts: Vec<String>,
    /// Scale, when it is a drawing.
    pub(super) scale: Option<String>,
    /// It shows no views, so that no projection has to be told.
    pub(super) flat: bool,
}

impl Block {
    /// Everything that stands in it, in lines that fit its room, as large as they go: nothing is left out without a word.
    fn lines(&self, room: f64, tall: f64) -> Vec<Lettering> {
        let title = font::clean(&self.title);
        let machine = font::clean(&self.machine);
        let facts = |apart: bool| -> Vec<String> {
            if apart {
                self.facts.iter().map(|f| font::clean(f)).collect()
            } else {
                vec![font::clean(&self.facts.join("; "))]
            }
        };
        let set = |[first, second, rest]: [f64; 3], apart: bool| {
            let mut all: Vec<Lettering> = Vec::new();
            let mut y = 1.6;
            let texts = std::iter::once((title.clone(), first, Hand::Name))
                .chain(std::iter::once((machine.clone(), second, Hand::Note)))
                .chain(facts(apart).into_iter().map(|f| (f, rest, Hand::Note)));
            for (text, height, hand) in texts {
                for line in font::wrapped(&text, height, hand, room) {
                    y += font::pitch(height) + 0.2;
                    let line = shortened(&line, height, hand, room);
                    let at = [0.0, y - font::below(height)];
                    all.push(Lettering::new(at, line, height, Hold::Start, hand));
                }
            }
            (y, all)
        };
        let sizes = [
            [3.0, 2.2, 2.0],
            [2.6, 2.2, 2.0],
            [2.4, 2.0, 2.0],
            [2.2, 2.0, 1.8],
            [1.9, 1.8, 1.8],
        ];
        let one_line = |h: f64| font::wrapped(&title, h, Hand::Name, room).len() < 2;
        let tried = sizes
            .into_iter()
            .flat_map(|s| [(s, true), (s, false)])
            .map(|(s, apart)| (one_line(s[0]), set(s, apart)));
        // A title in one line before a large one.
        let fit: Vec<(bool, Vec<Lettering>)> = tried
            .filter(|(_, (y, _))| *y <= tall)
            .map(|(one, (_, all))| (one, all))
            .collect();
        let best = fit.iter().position(|f| f.0).unwrap_or(0);
        let chosen = fit.into_iter().nth(best).map(|f| f.1);
        // Of what does not go in even so the end is seen to be missing.
        chosen.unwrap_or_else(|| {
            let all = set([1.9, 1.8, 1.8], false).1;
            let mut kept: Vec<Lettering> = all.into_iter().filter(|l| l.at[1] <= tall).collect();
            if let Some(last) = kept.last_mut() {
                last.text = shortened(&format!("{} …", last.text), last.height, last.hand, room);
            }
            kept
        })
    }
}

/// A sheet of the packet.
#[derive(Clone, Debug)]
pub(super) struct Page {
    /// Bookmarks; none for further sheets of the same, two where a second part begins.
    pub(super) bookmarks: Vec<String>,
    /// They stand below the bookmark before them.
    pub(super) below: bool,
    /// Names of the parts it is about.
    pub(super) about: Vec<String>,
    pub(super) size: P,
    third: bool,
    pub(super) block: Block,
    pub(super) groups: Vec<Group>,
}

impl Page {
    /// An empty sheet.
    pub(super) fn new(leaf: Leaf, lying: bool, block: Block) -> Self {
        let [w, h] = leaf.size();
        Self {
            bookmarks: Vec::new(),
            below: false,
            about: Vec::new(),
            size: if lying { [h, w] } else { [w, h] },
            third: leaf.third_angle(),
            block,
            groups: Vec::new(),
        }
    }

    /// Upper left and lower right corner of what may be drawn on.
    pub(super) fn field(&self) -> [P; 2] {
        [
            [MARGIN, MARGIN],
            [self.size[0] - MARGIN, self.size[1] - MARGIN - FOOT - 2.0],
        ]
    }

    /// The finished sheet with frame, block and bars.
    pub(super) fn finish(self, number: usize, of: usize) -> Sheet {
        let [w, h] = self.size;
        let mut foot = Group::new("foot");
        let (left, right, top, low) = (MARGIN, w - MARGIN, h - MARGIN - FOOT, h - MARGIN);
        foot.draw(
            Pen::Narrow,
            Shape::poly(
                &[[left, top], [right, top], [right, low], [left, low]],
                true,
            ),
        );
        bars(&mut foot, [left + 3.0, top]);
        let bars_end = left + 110.0;
        foot.draw(Pen::Narrow, Shape::line([bars_end, top], [bars_end, low]));
        let facts = if self.block.scale.is_some() {
            right - 34.0
        } else {
            right - 22.0
        };
        foot.draw(Pen::Narrow, Shape::line([facts, top], [facts, low]));
        let room = facts - bars_end - 4.0;
        for line in self.block.lines(room, low - top - 1.2) {
            let mut line = line;
            line.at = [bars_end + 2.0, top + line.at[1]];
            foot.letter(line);
        }
        let middle = f64::midpoint(facts, right);
        let mut base = top + 6.0;
        if let Some(scale) = &self.block.scale {
            foot.letter(Lettering::new(
                [middle, base],
                format!("scale {scale}"),
                SMALL,
                Hold::Middle,
                Hand::Name,
            ));
            base += 5.5;
            if !self.block.flat {
                symbols::projection_cone(&mut foot, [middle, base], self.third);
            }
            base += 5.0;
        }
        foot.letter(Lettering::new(
            [middle, (base + 2.0).min(low - 2.0)],
            format!("{number} / {of}"),
            SMALL,
            Hold::Middle,
            Hand::Note,
        ));
        let mut groups = self.groups;
        groups.push(foot);
        Sheet {
            size: self.size,
            title: format!("{}: {}", self.block.machine, self.block.title),
            description: self.block.facts.join(", "),
            groups,
        }
    }
}

/// A text cut to a width, with an ellipsis.
pub(super) fn shortened(text: &str, height: f64, hand: Hand, room: f64) -> String {
    if font::width(text, height, hand) <= room {
        return text.to_owned();
    }
    let mut out = text.to_owned();
    while !out.is_empty() && font::width(&out, height, hand) + font::width("…", height, hand) > room
    {
        out.pop();
    }
    out.push('…');
    out
}

/// Bars to check the print by.
fn bars(g: &mut Group, at: P) {
    for (n, (long, name)) in [(100.0, "100 mm"), (101.6, "4 in")].into_iter().enumerate() {
        let y = at[1] + 7.0 + 9.0 * n as f64;
        let (a, b) = (at[0], at[0] + long);
        g.draw(
            Pen::Narrow,
            Shape::Strokes(vec![
                [[a, y], [b, y]],
                [[a, y - 1.6], [a, y + 1.6]],
                [[b, y - 1.6], [b, y + 1.6]],
            ]),
        );
        g.letter(Lettering::new(
            [a + 2.0, y - 1.2],
            format!("{name}: print at 100 %, not fitted to the page, and measure it"),
            2.2,
            Hold::Start,
            Hand::Note,
        ));
    }
}
