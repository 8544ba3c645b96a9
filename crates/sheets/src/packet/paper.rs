//! Sheets of the packet: paper, frame, title block, check bars, and text that flows from sheet to sheet.

use crate::font::{self, LARGE, SMALL};
use crate::geometry::P;
use crate::sheet::{Fill, Group, Hand, Hold, Lettering, Pen, Shape, Sheet};
use crate::symbols;

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
}

/// A sheet of the packet.
#[derive(Clone, Debug)]
pub(super) struct Page {
    /// Bookmark; none for further sheets of the same.
    pub(super) bookmark: Option<String>,
    /// It stands below the bookmark before it.
    pub(super) below: bool,
    /// Names of the parts it is about.
    pub(super) about: Vec<String>,
    pub(super) size: P,
    pub(super) block: Block,
    pub(super) groups: Vec<Group>,
}

impl Page {
    /// An empty sheet.
    pub(super) fn new(leaf: Leaf, lying: bool, block: Block) -> Self {
        let [w, h] = leaf.size();
        Self {
            bookmark: None,
            below: false,
            about: Vec::new(),
            size: if lying { [h, w] } else { [w, h] },
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
        put(&self.block.title, 3.0, Hand::Name, 2);
        put(&self.block.machine, 2.0, Hand::Note, 1);
        for fact in &self.block.facts {
            put(fact, 1.8, Hand::Note, 2);
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
            symbols::projection_cone(&mut foot, [middle, base], false);
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
            1.8,
            Hold::Start,
            Hand::Note,
        ));
    }
}

/// A column of a table.
#[derive(Clone, Copy)]
pub(super) struct Column {
    pub(super) head: &'static str,
    /// Share of the width.
    pub(super) share: f64,
}

/// Text that flows down one sheet after the other.
pub(super) struct Flow {
    leaf: Leaf,
    block: Block,
    page: Page,
    pages: Vec<Page>,
    y: f64,
    /// The head of a running table stands on this sheet already.
    headed: bool,
}

/// Height of running text, mm.
const TEXT: f64 = 2.3;
const GAP: f64 = 1.4;
/// Height of headings, mm.
const HEAD: f64 = LARGE * 0.86;

impl Flow {
    pub(super) fn new(leaf: Leaf, block: Block, bookmark: &str, below: bool) -> Self {
        let mut page = Page::new(leaf, false, block.clone());
        page.bookmark = Some(bookmark.to_owned());
        page.below = below;
        let y = page.field()[0][1];
        Self {
            leaf,
            block,
            page,
            pages: Vec::new(),
            y,
            headed: false,
        }
    }

    fn width(&self) -> f64 {
        let [a, b] = self.page.field();
        b[0] - a[0]
    }

    /// Room that is needed in one piece; a new sheet when it is not there.
    fn need(&mut self, height: f64) -> bool {
        let bottom = self.page.field()[1][1];
        if self.y + height <= bottom || self.y <= self.page.field()[0][1] {
            return false;
        }
        let next = Page::new(self.leaf, false, self.block.clone());
        self.pages.push(std::mem::replace(&mut self.page, next));
        self.headed = false;
        self.y = self.page.field()[0][1];
        true
    }

    fn lines(&mut self, text: &str, height: f64, hand: Hand, indent: f64) {
        let room = self.width() - indent;
        let mut group = Group::new("text");
        for line in font::wrapped(&font::clean(text), height, hand, room) {
            if self.need(font::pitch(height) + 0.3) && !group.is_bare() {
                // What was written belongs to the sheet before.
                if let Some(last) = self.pages.last_mut() {
                    last.groups.push(std::mem::take(&mut group));
                }
            }
            self.y += font::pitch(height) + 0.3;
            let at = [MARGIN + indent, self.y - font::below(height) - 0.2];
            group.letter(Lettering::new(at, line, height, Hold::Start, hand));
        }
        if !group.is_bare() {
            self.page.groups.push(group);
        }
    }

    /// A heading of the whole.
    pub(super) fn title(&mut self, text: &str) {
        self.need(16.0);
        self.lines(text, 4.0, Hand::Name, 0.0);
        self.y += 2.0;
    }

    /// A heading.
    pub(super) fn heading(&mut self, text: &str) {
        self.need(18.0);
        self.y += 2.0;
        self.lines(text, HEAD, Hand::Name, 0.0);
        self.y += 0.8;
    }

    /// A paragraph.
    pub(super) fn text(&mut self, text: &str) {
        self.lines(text, TEXT, Hand::Note, 0.0);
        self.y += GAP;
    }

    /// A line that the next one follows closely.
    pub(super) fn note(&mut self, text: &str) {
        self.lines(text, TEXT, Hand::Note, 0.0);
    }

    /// A paragraph with a mark in front.
    pub(super) fn item(&mut self, mark: &str, text: &str) {
        self.need(2.0 * font::pitch(TEXT));
        let y = self.y;
        let sheets = self.pages.len();
        let indent = font::width(mark, TEXT, Hand::Name) + 2.5;
        self.lines(text, TEXT, Hand::Note, indent);
        if self.pages.len() == sheets {
            let mut group = Group::new("mark");
            let at = [
                MARGIN,
                y + font::pitch(TEXT) + 0.3 - font::below(TEXT) - 0.2,
            ];
            group.letter(Lettering::new(at, mark, TEXT, Hold::Start, Hand::Name));
            self.page.groups.push(group);
        }
        self.y += GAP * 0.6;
    }

    /// A caution: framed, with its mark.
    pub(super) fn caution(&mut self, text: &str) {
        let room = self.width() - 12.0;
        let lines = font::wrapped(&font::clean(text), TEXT, Hand::Name, room);
        let pitch = font::pitch(TEXT) + 0.3;
        let height = lines.len() as f64 * pitch + 3.0;
        self.need(height + 1.0);
        let mut group = Group::new("caution");
        let (a, b) = (
            [MARGIN, self.y + 0.5],
            [MARGIN + self.width(), self.y + 0.5 + height],
        );
        group.put(
            Some(Pen::Wide),
            Fill::Tint,
            Shape::poly(&[a, [b[0], a[1]], b, [a[0], b[1]]], true),
        );
        let c = [a[0] + 5.0, f64::midpoint(a[1], b[1])];
        group.put(
            Some(Pen::Narrow),
            Fill::Ground,
            Shape::poly(
                &[
                    [c[0] - 2.6, c[1] + 2.0],
                    [c[0] + 2.6, c[1] + 2.0],
                    [c[0], c[1] - 2.5],
                ],
                true,
            ),
        );
        group.letter(Lettering::new(
            [c[0], c[1] + 1.6],
            "!",
            2.3,
            Hold::Middle,
            Hand::Name,
        ));
        for (n, line) in lines.into_iter().enumerate() {
            let at = [
                a[0] + 10.0,
                a[1] + 1.5 + pitch * (n + 1) as f64 - font::below(TEXT) - 0.2,
            ];
            group.letter(Lettering::new(at, line, TEXT, Hold::Start, Hand::Name));
        }
        self.page.groups.push(group);
        self.y += height + 2.0;
    }

    /// Where a figure would stand: upper left corner and width.
    pub(super) fn here(&self) -> (P, f64) {
        ([MARGIN, self.y], self.width())
    }

    /// The upper left corner of a place so tall, on the next sheet when there is none here.
    pub(super) fn room(&mut self, tall: f64) -> P {
        self.need(tall);
        [MARGIN, self.y]
    }

    /// Puts marks that were drawn to stand here.
    pub(super) fn put(&mut self, group: Group, tall: f64) {
        self.page.groups.push(group);
        self.y += tall;
    }

    /// Puts a figure that was drawn to stand here and reaches down to `bottom`; its scale goes into the block of this sheet alone.
    pub(super) fn figure(&mut self, group: Group, bottom: f64, scale: String) {
        self.page.block.scale = Some(scale);
        self.page.groups.push(group);
        self.y = bottom + GAP;
    }

    /// A set-up: heading, how it is held, cautions, steps. Nothing of it stands alone at the foot of a sheet, and the head of its table is
    /// written once on each sheet.
    pub(super) fn set_up(
        &mut self,
        heading: &str,
        text: &str,
        cautions: &[String],
        columns: &[Column],
        rows: &[Vec<String>],
    ) {
        let pitch = font::pitch(TEXT) + 0.3;
        let lines = |text: &str, room: f64, hand: Hand| {
            font::wrapped(&font::clean(text), TEXT, hand, room).len() as f64
        };
        let widths = self.widths(columns);
        let first = rows.first().map_or(0.0, |r| row_height(&cells(r, &widths)));
        let caution = cautions.join(" ");
        let height = 8.0
            + lines(text, self.width(), Hand::Note) * pitch
            + lines(&caution, self.width() - 12.0, Hand::Name) * pitch
            + 5.0
            + pitch
            + 2.0
            + first;
        self.need(height);
        // On the line of the heading where there is room for it.
        let lead = font::width(heading, HEAD, Hand::Name) + 4.0;
        let inline = lead + font::width(&font::clean(text), TEXT, Hand::Note) <= self.width();
        self.heading(heading);
        if inline {
            let mut group = Group::new("text");
            let base = self.y - 0.8 - font::below(HEAD) - 0.2;
            group.letter(Lettering::new(
                [MARGIN + lead, base],
                font::clean(text),
                TEXT,
                Hold::Start,
                Hand::Note,
            ));
            self.page.groups.push(group);
        } else {
            self.text(text);
        }
        if !caution.is_empty() {
            self.caution(&caution);
        }
        if !self.headed {
            self.head(columns, &widths);
            self.headed = true;
        }
        self.rows(columns, &widths, rows);
        self.headed = true;
        self.y += 1.0;
    }

    /// A table; its head is there again on every sheet it runs over.
    pub(super) fn table(&mut self, columns: &[Column], rows: &[Vec<String>]) {
        let widths = self.widths(columns);
        let first = rows.first().map_or(0.0, |r| row_height(&cells(r, &widths)));
        self.need(font::pitch(TEXT) + 3.0 + first);
        self.head(columns, &widths);
        self.rows(columns, &widths, rows);
        self.y += 2.0;
    }

    fn widths(&self, columns: &[Column]) -> Vec<f64> {
        let total: f64 = columns.iter().map(|c| c.share).sum();
        columns
            .iter()
            .map(|c| c.share / total * self.width())
            .collect()
    }

    fn rows(&mut self, columns: &[Column], widths: &[f64], rows: &[Vec<String>]) {
        let width = self.width();
        let pitch = font::pitch(TEXT) + 0.3;
        for row in rows {
            let cells = cells(row, widths);
            let height = row_height(&cells);
            if self.need(height + 0.5) {
                self.head(columns, widths);
            }
            let mut group = Group::new("row");
            let mut x = MARGIN;
            for (n, (lines, w)) in cells.into_iter().zip(widths).enumerate() {
                let hand = if n == 0 { Hand::Name } else { Hand::Note };
                for (i, line) in lines.into_iter().enumerate() {
                    let at = [
                        x + 1.0,
                        self.y + 0.6 + pitch * (i + 1) as f64 - font::below(TEXT) - 0.2,
                    ];
                    group.letter(Lettering::new(at, line, TEXT, Hold::Start, hand));
                }
                x += w;
            }
            self.y += height;
            group.draw(
                Pen::Grid,
                Shape::line([MARGIN, self.y], [MARGIN + width, self.y]),
            );
            self.page.groups.push(group);
        }
    }

    /// A table to be filled in by hand, with lines of this height; cells that are given are printed. Its head is there again on every sheet it
    /// runs over.
    pub(super) fn form(
        &mut self,
        heads: &[String],
        shares: &[f64],
        rows: &[Vec<String>],
        height: f64,
    ) {
        let total: f64 = shares.iter().sum();
        let widths: Vec<f64> = shares.iter().map(|s| s / total * self.width()).collect();
        let pitch = font::pitch(TEXT) + 0.3;
        let head = |flow: &mut Self| {
            flow.need(pitch + 2.0 + height);
            let mut group = Group::new("head");
            let mut x = MARGIN;
            for (text, w) in heads.iter().zip(&widths) {
                let text = shortened(text, TEXT, Hand::Name, w - 1.5);
                let at = [x + 1.0, flow.y + pitch - font::below(TEXT)];
                group.letter(Lettering::new(at, text, TEXT, Hold::Start, Hand::Name));
                x += w;
            }
            flow.y += pitch + 1.0;
            group.draw(Pen::Narrow, Shape::line([MARGIN, flow.y], [x, flow.y]));
            flow.page.groups.push(group);
        };
        head(self);
        for row in rows {
            let cells: Vec<Vec<String>> = row
                .iter()
                .zip(&widths)
                .map(|(text, w)| broken(text, w - 2.4, Hand::Note))
                .collect();
            let tall = cells.iter().map(Vec::len).max().unwrap_or(1).max(1);
            let height = height.max(tall as f64 * pitch + 2.0);
            if self.need(height + 0.5) {
                head(self);
            }
            let mut group = Group::new("row");
            let (top, low) = (self.y, self.y + height);
            let mut x = MARGIN;
            for (n, w) in widths.iter().enumerate() {
                for (i, line) in cells.get(n).into_iter().flatten().enumerate() {
                    let base = f64::midpoint(top, low) - pitch * tall as f64 / 2.0
                        + pitch * (i + 1) as f64
                        - font::below(TEXT)
                        - 0.2;
                    group.letter(Lettering::new(
                        [x + 1.0, base],
                        line.clone(),
                        TEXT,
                        Hold::Start,
                        Hand::Note,
                    ));
                }
                x += w;
                if n + 1 < widths.len() {
                    group.draw(Pen::Grid, Shape::line([x, top], [x, low]));
                }
            }
            self.y = low;
            group.draw(Pen::Grid, Shape::line([MARGIN, low], [x, low]));
            self.page.groups.push(group);
        }
        self.y += 2.0;
    }

    fn head(&mut self, columns: &[Column], widths: &[f64]) {
        let pitch = font::pitch(TEXT) + 0.3;
        let mut group = Group::new("head");
        let mut x = MARGIN;
        for (c, w) in columns.iter().zip(widths) {
            let at = [x + 1.0, self.y + pitch - font::below(TEXT)];
            group.letter(Lettering::new(at, c.head, TEXT, Hold::Start, Hand::Name));
            x += w;
        }
        self.y += pitch + 1.0;
        group.draw(Pen::Narrow, Shape::line([MARGIN, self.y], [x, self.y]));
        self.page.groups.push(group);
    }

    pub(super) fn finish(mut self) -> Vec<Page> {
        self.pages.push(self.page);
        self.pages
    }
}

fn cells(row: &[String], widths: &[f64]) -> Vec<Vec<String>> {
    row.iter()
        .zip(widths)
        .enumerate()
        .map(|(n, (text, w))| {
            let hand = if n == 0 { Hand::Name } else { Hand::Note };
            broken(text, w - 2.4, hand)
        })
        .collect()
}

fn row_height(cells: &[Vec<String>]) -> f64 {
    let tall = cells.iter().map(Vec::len).max().unwrap_or(1).max(1);
    tall as f64 * (font::pitch(TEXT) + 0.3) + 1.4
}

/// Lines no wider than `room`; a word that is wider is broken.
fn broken(text: &str, room: f64, hand: Hand) -> Vec<String> {
    let mut all = Vec::new();
    for line in font::wrapped(&font::clean(text), TEXT, hand, room) {
        let mut rest = line;
        while font::width(&rest, TEXT, hand) > room {
            let mut cut = rest.clone();
            while cut.chars().count() > 1 && font::width(&cut, TEXT, hand) > room {
                cut.pop();
            }
            let after = rest.split_off(cut.len());
            rest = after;
            all.push(cut);
        }
        all.push(rest);
    }
    all
}
