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
        let mut y = top + 5.2;
        let mut put = |text: &str, height: f64, hand: Hand, most: usize| {
            for part in font::wrapped(&font::clean(text), height, hand, room)
                .into_iter()
                .take(most)
            {
                if y < low - 0.5 {
                    let text = shortened(&part, height, hand, room);
                    foot.letter(Lettering::new(
                        [bars_end + 2.0, y],
                        text,
                        height,
                        Hold::Start,
                        hand,
                    ));
                }
                y += font::pitch(height) + 0.3;
            }
        };
        // A long name gets smaller before it takes the room of what stands below it.
        let title = font::clean(&self.block.title);
        let fits = |h: f64| font::wrapped(&title, h, Hand::Name, room).len() < 2;
        let height = [3.0, 2.6, 2.2].into_iter().find(|h| fits(*h));
        let lines = |h: f64| font::wrapped(&title, h, Hand::Name, room).len();
        let height = height.unwrap_or(if lines(2.4) > 2 { 1.9 } else { 2.4 });
        put(&title, height, Hand::Name, 3);
        // The name of the machine takes one line: smaller before it is cut.
        let wide = |h: f64| font::width(&font::clean(&self.block.machine), h, Hand::Note);
        let small = [2.2, 2.0].into_iter().find(|h| wide(*h) <= room);
        put(&self.block.machine, small.unwrap_or(1.8), Hand::Note, 1);
        for fact in &self.block.facts {
            put(fact, 2.0, Hand::Note, 2);
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
