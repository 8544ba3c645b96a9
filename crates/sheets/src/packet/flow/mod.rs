//! Text, tables and figures that flow from sheet to sheet.

mod columns;

use super::paper::{Block, Leaf, MARGIN, Page, shortened};
use crate::font::{self, LARGE};
use crate::geometry::P;
use crate::sheet::{Fill, Group, Hand, Hold, Lettering, Pen, Shape};
use columns::{broken, cells, fitted, row_height};

/// A column of a table.
#[derive(Clone, Copy)]
pub(in crate::packet) struct Column {
    pub(in crate::packet) head: &'static str,
    /// Share of the width.
    pub(in crate::packet) share: f64,
}

/// Text that flows down one sheet after the other.
pub(in crate::packet) struct Flow {
    leaf: Leaf,
    block: Block,
    page: Page,
    pages: Vec<Page>,
    y: f64,
    /// The head of a running table stands on this sheet already.
    headed: bool,
    /// The foot of every sheet is kept clear by so much, mm.
    clear: f64,
    /// Heading of the list that runs: it stands again where the list goes on.
    list: Option<String>,
}

/// Height of running text, mm.
const TEXT: f64 = 2.5;
const GAP: f64 = 1.4;
/// Running text of so few lines is not torn.
const FEW: usize = 4;
/// Paragraphs of a list of so many lines stay on one sheet.
const WHOLE: usize = 8;
/// What belongs together stands on one sheet where it takes no more than this share of it.
const BELONGS: f64 = 0.6;
/// Columns side by side stand so far apart, mm.
const APART: f64 = 3.5;
/// Columns side by side do not begin at the foot of a sheet with fewer lines than these.
const SHORT: usize = 6;
/// What a column is wider than its text, mm.
const PAD: f64 = 2.4;
/// Lines to write on are this much of their height at the least.
const CLOSER: f64 = 0.8;
/// Height of headings, mm.
const HEAD: f64 = LARGE * 0.86;

impl Flow {
    pub(in crate::packet) fn new(leaf: Leaf, block: Block, bookmark: &str, below: bool) -> Self {
        let mut page = Page::new(leaf, false, block.clone());
        page.bookmarks = vec![bookmark.to_owned()];
        page.below = below;
        let y = page.field()[0][1];
        Self {
            leaf,
            block,
            page,
            pages: Vec::new(),
            y,
            headed: false,
            clear: 0.0,
            list: None,
        }
    }

    /// Something new of its own under what stands on a sheet already, down to so far.
    pub(in crate::packet) fn under(
        (mut page, y): (Page, f64),
        leaf: Leaf,
        block: Block,
        bookmark: &str,
    ) -> Self {
        page.block.title = format!("{}, {}", page.block.title, block.title);
        page.block.facts = vec!["Material, stock and count stand with each.".to_owned()];
        page.bookmarks.push(bookmark.to_owned());
        let [a, b] = page.field();
        // Each drawing has its scale beside it where there are several.
        if let (Some(scale), 2) = (&page.block.scale, page.bookmarks.len()) {
            let mut text = Group::new("text");
            let at = [b[0], a[1] + 5.0];
            text.letter(Lettering::new(
                at,
                format!("scale {scale}"),
                TEXT,
                Hold::End,
                Hand::Name,
            ));
            page.groups.push(text);
        }
        let mut line = Group::new("line");
        line.draw(Pen::Wide, Shape::line([a[0], y + 3.0], [b[0], y + 3.0]));
        page.groups.push(line);
        Self {
            leaf,
            block,
            page,
            pages: Vec::new(),
            y: y + 6.0,
            headed: false,
            clear: 0.0,
            list: None,
        }
    }

    /// Whether all of it so far stands on its first sheet, with so much room above the foot.
    pub(in crate::packet) fn on_one(&self, room: f64) -> bool {
        self.pages.is_empty() && self.y + room <= self.page.field()[1][1]
    }

    /// The sheets before the last, the last, and down to where it is used.
    pub(in crate::packet) fn split(self) -> (Vec<Page>, (Page, f64)) {
        (self.pages, (self.page, self.y))
    }

    /// The same with the foot of every sheet kept clear by so much, mm.
    pub(in crate::packet) fn clear(mut self, foot: f64) -> Self {
        self.clear = foot;
        self
    }

    /// Width and height of its sheets.
    pub(in crate::packet) fn size(&self) -> P {
        self.page.size
    }

    fn width(&self) -> f64 {
        let [a, b] = self.page.field();
        b[0] - a[0]
    }

    /// Room that is needed in one piece; a new sheet when it is not there.
    fn need(&mut self, height: f64) -> bool {
        let bottom = self.page.field()[1][1] - self.clear;
        if self.y + height <= bottom || self.y <= self.page.field()[0][1] {
            return false;
        }
        let next = Page::new(self.leaf, false, self.block.clone());
        self.pages.push(std::mem::replace(&mut self.page, next));
        self.headed = false;
        self.y = self.page.field()[0][1];
        true
    }

    /// Writes what belongs together: on the next sheet when it would be torn here and is whole there.
    pub(in crate::packet) fn together(&mut self, write: &dyn Fn(&mut Self)) {
        let [a, b] = self.page.field();
        let at = |y: f64| {
            let mut flow = Self::new(self.leaf, self.block.clone(), "", false).clear(self.clear);
            flow.y = y;
            write(&mut flow);
            flow
        };
        if self.y > a[1] && !at(self.y).pages.is_empty() {
            let alone = at(a[1]);
            if alone.pages.is_empty() && alone.y - a[1] < BELONGS * (b[1] - a[1]) {
                self.need(b[1] - a[1]);
            }
        }
        write(self);
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
    pub(in crate::packet) fn title(&mut self, text: &str) {
        self.need(16.0);
        self.lines(text, 4.0, Hand::Name, 0.0);
        self.y += 2.0;
    }

    /// A heading.
    pub(in crate::packet) fn heading(&mut self, text: &str) {
        self.need(18.0);
        self.list = None;
        self.y += 2.0;
        self.lines(text, HEAD, Hand::Name, 0.0);
        self.y += 0.8;
    }

    /// The heading of a list; where the list goes on, it stands again.
    pub(in crate::packet) fn list(&mut self, text: &str) {
        self.heading(text);
        self.list = Some(text.to_owned());
    }

    /// A paragraph.
    pub(in crate::packet) fn text(&mut self, text: &str) {
        let lines = font::wrapped(&font::clean(text), TEXT, Hand::Note, self.width()).len();
        if lines <= FEW {
            self.need(lines as f64 * (font::pitch(TEXT) + 0.3));
        }
        self.lines(text, TEXT, Hand::Note, 0.0);
        self.y += GAP;
    }

    /// A line that the next one follows closely.
    pub(in crate::packet) fn note(&mut self, text: &str) {
        self.lines(text, TEXT, Hand::Note, 0.0);
    }

    /// A paragraph with a mark in front; one of a few lines is not torn.
    pub(in crate::packet) fn item(&mut self, mark: &str, text: &str) {
        let indent = font::width(mark, TEXT, Hand::Name) + 2.5;
        let lines = font::wrapped(&font::clean(text), TEXT, Hand::Note, self.width() - indent);
        let turned = self.need(lines.len().min(WHOLE) as f64 * (font::pitch(TEXT) + 0.3));
        if let (true, Some(head)) = (turned, self.list.clone()) {
            self.list(&continued(&head));
        }
        let y = self.y;
        let sheets = self.pages.len();
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
    pub(in crate::packet) fn caution(&mut self, text: &str) {
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

    /// Free room.
    pub(in crate::packet) fn gap(&mut self, tall: f64) {
        self.y += tall;
    }

    /// Lines in a column beside what stands here, and marks so tall under them; the flow goes on below all of it.
    pub(in crate::packet) fn column(
        &mut self,
        at: P,
        wide: f64,
        texts: &[String],
        tall: f64,
        marks: &dyn Fn(&mut Group, P),
    ) {
        let mut group = Group::new("text");
        let pitch = font::pitch(TEXT) + 0.3;
        let mut y = at[1];
        for text in texts {
            for line in font::wrapped(&font::clean(text), TEXT, Hand::Note, wide) {
                y += pitch;
                let at = [at[0], y - font::below(TEXT) - 0.2];
                group.letter(Lettering::new(at, line, TEXT, Hold::Start, Hand::Note));
            }
            y += 0.6;
        }
        marks(&mut group, [at[0], y + 1.0]);
        self.page.groups.push(group);
        self.y = self.y.max(y + 1.0 + tall);
    }

    /// Where a figure would stand: upper left corner and width.
    pub(in crate::packet) fn here(&self) -> (P, f64) {
        ([MARGIN, self.y], self.width())
    }

    /// The upper left corner of a place so tall, on the next sheet when there is none here.
    pub(in crate::packet) fn room(&mut self, tall: f64) -> P {
        self.need(tall);
        [MARGIN, self.y]
    }

    /// Puts marks that were drawn to stand here.
    pub(in crate::packet) fn put(&mut self, group: Group, tall: f64) {
        self.page.groups.push(group);
        self.y += tall;
    }

    /// Puts a figure that was drawn to stand here and reaches down to `bottom`; its scale goes into the block of this sheet alone.
    pub(in crate::packet) fn figure(&mut self, group: Group, bottom: f64, scale: String) {
        let other = self.page.block.scale.as_ref().is_some_and(|s| *s != scale);
        self.page.block.scale = Some(if other { "as noted".to_owned() } else { scale });
        self.page.groups.push(group);
        self.y = bottom + GAP;
    }

    /// A set-up: heading, how it is held, cautions, steps. Nothing of it stands alone at the foot of a sheet, and the head of its table is
    /// written once on each sheet.
    pub(in crate::packet) fn set_up(
        &mut self,
        heading: &str,
        text: &str,
        cautions: &[String],
        table: (&[Column], &[f64]),
        rows: &[Vec<String>],
    ) {
        let (columns, widths) = table;
        let pitch = font::pitch(TEXT) + 0.3;
        let lines = |text: &str, room: f64, hand: Hand| {
            font::wrapped(&font::clean(text), TEXT, hand, room).len() as f64
        };
        let first = rows.first().map_or(0.0, |r| row_height(&cells(r, widths)));
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
            self.head(columns, widths);
            self.headed = true;
        }
        self.rows(columns, widths, rows);
        self.headed = true;
        self.y += 1.0;
    }

    /// A table; its head is there again on every sheet it runs over.
    pub(in crate::packet) fn table(&mut self, columns: &[Column], rows: &[Vec<String>]) {
        let widths = self.fitted(columns, rows);
        let first = rows.first().map_or(0.0, |r| row_height(&cells(r, &widths)));
        self.need(font::pitch(TEXT) + 3.0 + first);
        self.head(columns, &widths);
        self.rows(columns, &widths, rows);
        self.y += 2.0;
    }

    /// A narrow table in columns side by side, read down: they fill one sheet, then the next. Lines are not broken in it.
    pub(in crate::packet) fn columns(
        &mut self,
        columns: &[Column],
        across: usize,
        rows: &[Vec<String>],
    ) {
        let each = self.width() / across as f64;
        let widths = fitted(columns, rows, each - APART);
        let pitch = font::pitch(TEXT) + 0.3;
        let mut rest = rows;
        while !rest.is_empty() {
            let head = pitch + 1.6;
            let few = rest.len().div_ceil(across).min(SHORT);
            if self.need(head + pitch * few as f64)
                && let Some(name) = self.list.clone()
            {
                self.list(&continued(&name));
            }
            let bottom = self.page.field()[1][1] - self.clear;
            let fit = ((bottom - self.y - head - 0.5) / pitch).floor().max(1.0) as usize;
            let tall = rest.len().div_ceil(across).min(fit);
            let (here, after) = rest.split_at(rest.len().min(tall * across));
            let top = self.y;
            let mut group = Group::new("columns");
            for (c, own) in here.chunks(tall).enumerate() {
                let left = MARGIN + each * c as f64;
                let mut x = left;
                for (n, (column, w)) in columns.iter().zip(&widths).enumerate() {
                    let hand = if n == 0 { Hand::Name } else { Hand::Note };
                    let mut put = |line: usize, text: &str, hand: Hand, more: f64| {
                        let base = top + more + pitch * (line + 1) as f64 - font::below(TEXT) - 0.2;
                        let at = [x + 1.0, base];
                        group.letter(Lettering::new(at, text, TEXT, Hold::Start, hand));
                    };
                    put(0, column.head, Hand::Name, 0.0);
                    for (i, row) in own.iter().enumerate() {
                        put(i + 1, row.get(n).map_or("", String::as_str), hand, 1.6);
                    }
                    x += w;
                }
                let line = top + pitch + 1.0;
                group.draw(
                    Pen::Narrow,
                    Shape::line([left, line], [left + each - APART, line]),
                );
                // Every fifth line, to lead the eye across.
                for i in (5..own.len()).step_by(5) {
                    let y = top + head + pitch * i as f64;
                    group.draw(Pen::Grid, Shape::line([left, y], [left + each - APART, y]));
                }
            }
            self.page.groups.push(group);
            self.y = top + head + pitch * tall as f64 + 0.5;
            rest = after;
        }
        self.list = None;
        self.y += 2.0;
    }

    /// A table under its heading and what is said of it, on one sheet where they fit.
    pub(in crate::packet) fn section(
        &mut self,
        heading: &str,
        text: &str,
        columns: &[Column],
        rows: &[Vec<String>],
    ) {
        self.together(&|flow: &mut Self| {
            flow.heading(heading);
            if !text.is_empty() {
                flow.text(text);
            }
            flow.table(columns, rows);
        });
    }

    /// Widths of the columns of a table with which it is least tall.
    pub(in crate::packet) fn fitted(&self, columns: &[Column], rows: &[Vec<String>]) -> Vec<f64> {
        fitted(columns, rows, self.width())
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
                        self.y + 0.4 + pitch * (i + 1) as f64 - font::below(TEXT) - 0.2,
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
    pub(in crate::packet) fn form(
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
        // Lines a little closer where that keeps all of them on this sheet.
        let [_, b] = self.page.field();
        let even = (b[1] - self.clear - self.y - 1.0) / rows.len().max(1) as f64;
        let height = if even < height && even > CLOSER * height {
            even - 0.01
        } else {
            height
        };
        for row in rows {
            let cells: Vec<Vec<String>> = row
                .iter()
                .zip(&widths)
                .map(|(text, w)| broken(text, w - PAD, Hand::Note))
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
        if columns.iter().all(|c| c.head.is_empty()) {
            return;
        }
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

    pub(in crate::packet) fn finish(mut self) -> Vec<Page> {
        self.pages.push(self.page);
        self.pages
    }

    /// How many sheets there are so far.
    pub(in crate::packet) fn sheets(&self) -> usize {
        self.pages.len() + 1
    }

    /// How much of the last sheet is used, mm, and how much there is.
    fn last(&self) -> [f64; 2] {
        let [a, b] = self.page.field();
        [self.y - a[1], b[1] - a[1]]
    }
}

/// Heading of a list where it goes on.
fn continued(heading: &str) -> String {
    format!("{}, continued", heading.trim_end_matches(", continued"))
}

/// A last sheet with less on it than this share looks forgotten, and is easily lost.
const LITTLE: f64 = 0.12;

/// Sheets of what `make` writes with so much of every foot kept clear, mm: when the last one would hold a few lines only, those before it
/// give some of theirs.
pub(in crate::packet) fn settled(make: impl Fn(f64) -> Flow) -> Vec<Page> {
    settled_flow(make).finish()
}

/// The same, to be gone on with.
pub(in crate::packet) fn settled_flow(make: impl Fn(f64) -> Flow) -> Flow {
    let first = make(0.0);
    let [used, tall] = first.last();
    let before = first.pages.len() as f64;
    if before < 1.0 || used > LITTLE * tall {
        return first;
    }
    let even = (tall - used) / (before + 1.0);
    // No more than it takes: a sheet that ends half way looks as if something were missing.
    let mut best: Option<(f64, Flow)> = None;
    for share in [0.25, 0.4, 0.6, 0.8, 1.0] {
        let flow = make(share * even);
        if flow.pages.len() != first.pages.len() {
            continue;
        }
        let [used, tall] = flow.last();
        if used > LITTLE * tall {
            return flow;
        }
        if used > best.as_ref().map_or(first.last()[0], |b| b.0) {
            best = Some((used, flow));
        }
    }
    best.map_or(first, |b| b.1)
}
