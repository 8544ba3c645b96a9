//! The packet: all shop papers of a machine as one PDF, and a folder of cutting data and tables.

mod assembly;
mod dialing;
mod dims;
mod files;
mod paper;
mod papers;
mod pdf;
mod plate;
mod template;
mod turned;

pub use dialing::dial_in_sheets;
pub use paper::Leaf;
pub use pdf::PdfError;

use crate::drawing::Drawing;
use crate::sheet::Sheet;
use machine::Machine;
use paper::{Block, Page};
use shop::part::Form;
use shop::{Job, Part, words};
use studies::dial::answers::Paper;

/// All sheets of a packet.
#[derive(Clone, Debug)]
pub struct Packet {
    title: String,
    sheets: Vec<Sheet>,
    bookmarks: Vec<(Option<String>, bool)>,
    /// Cutting data and tables: name of each file and its text.
    pub files: Vec<(String, String)>,
}

impl Packet {
    /// A packet of these sheets.
    fn of(title: String, pages: Vec<Page>) -> Self {
        let count = pages.len();
        let bookmarks = pages
            .iter()
            .map(|p| (p.bookmark.clone(), p.below))
            .collect();
        let sheets = pages
            .into_iter()
            .enumerate()
            .map(|(n, p)| p.finish(n + 1, count))
            .collect();
        Self {
            title,
            sheets,
            bookmarks,
            files: Vec::new(),
        }
    }

    /// How many sheets there are.
    pub fn len(&self) -> usize {
        self.sheets.len()
    }

    /// Whether there is nothing in it.
    pub fn is_empty(&self) -> bool {
        self.sheets.is_empty()
    }

    /// Width and height of a sheet, mm.
    pub fn size(&self, sheet: usize) -> Option<[f64; 2]> {
        self.sheets.get(sheet).map(|s| s.size)
    }

    /// A sheet as SVG, true to size.
    pub fn svg(&self, sheet: usize) -> Option<String> {
        self.sheets.get(sheet).map(pdf::plain_svg)
    }

    /// Name of each sheet as it stands in its block.
    pub fn titles(&self) -> impl Iterator<Item = &str> {
        self.sheets.iter().map(|s| s.title.as_str())
    }

    /// One PDF, true to size; `done` is told how many sheets are written.
    ///
    /// # Errors
    /// When a sheet cannot be read back or written by the PDF library.
    pub fn pdf(&self, done: &mut dyn FnMut(usize)) -> Result<Vec<u8>, PdfError> {
        let leaves: Vec<pdf::Leaf> = self
            .sheets
            .iter()
            .zip(&self.bookmarks)
            .map(|(sheet, (bookmark, below))| pdf::Leaf {
                sheet,
                bookmark: bookmark.as_deref(),
                below: *below,
            })
            .collect();
        pdf::write(&self.title, &leaves, done)
    }
}

fn block(machine: &Machine, part: &Part, what: &str) -> Block {
    Block {
        machine: machine.name.clone(),
        title: format!(
            "{}{}{what}",
            words::spoken(&part.name),
            if what.is_empty() { "" } else { ": " }
        ),
        facts: vec![
            format!(
                "{}, {}",
                part.material.name,
                words::section(&part.section, machine.unit)
            ),
            format!("{} off, {} each", part.count, papers::mass(part.mass())),
        ],
        scale: None,
    }
}

/// The drawing of one part.
pub fn part_sheet(machine: &Machine, part: &Part, leaf: Leaf) -> crate::plot::Figure {
    crate::plot::Figure {
        sheet: drawing_of(machine, part, leaf).finish(1, 1),
        fields: Vec::new(),
    }
}

fn drawing_of(machine: &Machine, part: &Part, leaf: Leaf) -> Page {
    let block = block(machine, part, "");
    match &part.form {
        Form::Plate(p) => plate::draw(part, p, leaf, block, machine.unit),
        Form::Turned(t) => turned::draw(part, t, leaf, block, machine.unit),
    }
}

/// The whole packet. `assembly` is the machine as drawn, `dial` what to take to the machine once it is built.
pub fn packet(
    machine: &Machine,
    job: &Job,
    assembly: Option<&Drawing>,
    dial: Option<&Paper>,
    leaf: Leaf,
) -> Packet {
    let mut body: Vec<Page> = papers::lists(machine, job, leaf);
    if let Some(drawing) = assembly {
        body.extend(assembly::draw(machine, job, drawing, leaf));
    }
    let mut contents = vec![
        "Cut list and what to buy".to_owned(),
        "Assembly and list of parts".to_owned(),
    ];
    let mut files = Vec::new();
    for (part, sheet) in job.parts.iter().zip(&job.sheets) {
        let mut drawing = drawing_of(machine, part, leaf);
        drawing.bookmark = Some(words::spoken(&part.name));
        body.push(drawing);
        body.extend(papers::operations(
            part,
            sheet,
            block(machine, part, "operations"),
            leaf,
            machine.unit,
        ));
        let mut what = "drawing, operations";
        if let Form::Plate(p) = &part.form {
            let mut pages = template::draw(p, leaf, &block(machine, part, "template"));
            if let Some(first) = pages.first_mut() {
                first.bookmark = Some("Template".to_owned());
                first.below = true;
            }
            body.extend(pages);
            files.push((format!("{}.dxf", part.name), files::dxf(part, p)));
            what = "drawing, operations, template";
        }
        contents.push(format!("{}: {what}", words::spoken(&part.name)));
    }
    if let Some(paper) = dial {
        contents.push("Dial in: what to set and read, what to turn, the scale".to_owned());
        body.extend(dialing::draw(machine, paper, leaf));
    }
    let mut pages = papers::first(machine, job, &contents, leaf);
    pages.extend(body);
    files.extend(files::tables(job));
    Packet {
        files,
        ..Packet::of(format!("{}: shop papers", machine.name), pages)
    }
}
