//! The packet: all shop papers of a machine as one PDF, and a folder of cutting data and tables.

mod assembly;
mod bent;
mod cams;
#[cfg(test)]
mod clashes;
mod dialing;
mod dims;
mod files;
mod flow;
mod holes_dxf;
mod legible;
mod nest;
mod paper;
mod papers;
mod pdf;
mod plate;
mod seats;
mod setting;
mod solids;
mod taken;
mod template;
mod texture;
mod turned;

pub use cams::cam_csv;
pub use dialing::dial_in_sheets;
pub use paper::{Leaf, Print};
pub use pdf::{PdfError, paper_style};
pub use setting::Setting;

use crate::pose::Pose;
use crate::sheet::Sheet;
use flow::Flow;
use machine::Machine;
use machine::equipment::RotaryTable;
use paper::{Block, Page};
use quantity::Unit;
use shop::part::Form;
use shop::{Job, Part, words};
use studies::dial::answers::Paper;

/// All sheets of a packet.
#[derive(Clone, Debug)]
pub struct Packet {
    title: String,
    sheets: Vec<Sheet>,
    marks: Vec<Mark>,
    /// Cutting data, solids and tables: name of each file and its text.
    pub files: Vec<(String, String)>,
    /// Volume of each solid by its own line and outline, mm³.
    pub volumes: Vec<(String, f64)>,
    /// Parts without a solid, and which feature stands in the way.
    pub without_solid: Vec<(String, String)>,
    /// Parts whose STEP file leaves something out, and what.
    pub left_out: Vec<(String, &'static str)>,
}

/// Where a sheet belongs.
#[derive(Clone, Debug)]
struct Mark {
    title: String,
    bookmarks: Vec<String>,
    below: bool,
    about: Vec<String>,
}

impl Packet {
    /// A packet of these sheets.
    fn of(title: String, pages: Vec<Page>) -> Self {
        let count = pages.len();
        let mark = |p: &Page| Mark {
            title: p.block.title.clone(),
            bookmarks: p.bookmarks.clone(),
            below: p.below,
            about: p.about.clone(),
        };
        let marks = pages.iter().map(mark).collect();
        let sheets = pages
            .into_iter()
            .enumerate()
            .map(|(n, p)| p.finish(n + 1, count))
            .collect();
        Self {
            title,
            sheets,
            marks,
            files: Vec::new(),
            volumes: Vec::new(),
            without_solid: Vec::new(),
            left_out: Vec::new(),
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
        self.marks.iter().map(|m| m.title.as_str())
    }

    /// Parts that a sheet is about; none for those about the whole machine.
    pub fn about(&self, sheet: usize) -> &[String] {
        self.marks.get(sheet).map_or(&[], |m| &m.about)
    }

    /// One PDF, true to size; `done` is told how many sheets are written.
    ///
    /// # Errors
    /// When a sheet cannot be read back or written by the PDF library.
    pub fn pdf(&self, done: &mut dyn FnMut(usize)) -> Result<Vec<u8>, PdfError> {
        let leaves: Vec<pdf::Leaf> = self
            .sheets
            .iter()
            .zip(&self.marks)
            .map(|(sheet, mark)| pdf::Leaf {
                sheet,
                bookmarks: &mark.bookmarks,
                below: mark.below,
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
            part.material.name.clone(),
            format!(
                "{}, {}, {} each",
                shop::cut::stock_of(
                    part.section,
                    &part.material.name,
                    machine.work.shop.as_ref(),
                    machine.unit
                ),
                part.off(),
                papers::mass(part.mass(), machine.unit)
            ),
        ],
        scale: None,
        flat: false,
    }
}

/// The rotary table of the shop.
fn rotary(machine: &Machine) -> Option<&RotaryTable> {
    machine.work.shop.as_ref()?.rotary_tables.first()
}

/// The drawing of one part.
pub fn part_sheet(machine: &Machine, part: &Part, print: impl Into<Print>) -> crate::plot::Figure {
    crate::plot::Figure {
        sheet: drawing_of(machine, part, print.into()).finish(1, 1),
        fields: Vec::new(),
    }
}

/// The drawing alone.
fn drawing_of(machine: &Machine, part: &Part, print: Print) -> Page {
    let block = block(machine, part, "");
    let (leaf, units) = (print.leaf, print.units(machine.unit));
    match &part.form {
        Form::Plate(p) => plate::draw(part, p, leaf, &block, units),
        Form::Turned(t) => {
            let pages = turned_flow(machine, part, t, print, turned::TALLEST[0], None).finish();
            let empty = || Page::new(leaf, false, block.clone());
            pages.into_iter().next().unwrap_or_else(empty)
        }
    }
}

/// Leaders with more than this in their way want more room than is beside them.
const CROWDED: f64 = 4.0;
/// Widths of what is said beside the drawing of a turned part, mm: the widest that leaves the drawing its size.
const NOTES: [f64; 3] = [110.0, 92.0, 74.0];

/// A part begins on the sheet of another where its first set-up goes there too, mm.
const BEGUN: f64 = 32.0;

/// A turned part: its drawing at the head of a sheet; what follows flows below.
fn turned_flow(
    machine: &Machine,
    part: &Part,
    t: &shop::part::Turned,
    print: Print,
    tallest: f64,
    under: Option<&(Page, f64)>,
) -> Flow {
    let (leaf, units) = (print.leaf, print.units(machine.unit));
    let name = words::spoken(&part.name);
    let block = block(machine, part, "");
    let mut flow = match under {
        Some(sheet) => Flow::under(sheet.clone(), leaf, block, &name),
        None => Flow::new(leaf, block, &name, false),
    };
    flow.title(&name);
    let (at, wide) = flow.here();
    let how = (units, leaf.third_angle());
    let hollow = turned::hollow(part, t);
    let own = (&hollow, part.joined.as_slice(), part.teeth.as_ref());
    let (figure, bottom, scale, _) = turned::figure(own, at, wide, tallest, how);
    let mut words = turned::words_of(part, t, units);
    if under.is_some() {
        words.insert(0, format!("Scale {scale}."));
    }
    // What is said stands beside a figure that leaves room for it.
    let beside = NOTES.into_iter().find_map(|notes| {
        let narrow = wide - notes - 4.0;
        let beside = turned::figure(own, at, narrow, tallest, how);
        let fits = beside.2 == scale && beside.0.extent().max[0] < at[0] + narrow;
        let clear = || legible::clashes(std::slice::from_ref(&beside.0), flow.size()).is_empty();
        let easy = beside.3 < CROWDED || notes <= NOTES[NOTES.len() - 1];
        (fits && easy && clear()).then_some((beside, narrow, notes))
    });
    if let Some(((figure, bottom, ..), narrow, notes)) = beside {
        flow.figure(figure, bottom, scale.to_string());
        flow.column(
            [at[0] + narrow + 4.0, at[1]],
            notes,
            &words,
            texture::TALL,
            &texture::marks,
        );
    } else {
        flow.figure(figure, bottom, scale.to_string());
        for note in words {
            flow.note(&note);
        }
        let mut group = crate::sheet::Group::new("surfaces");
        texture::marks(&mut group, flow.room(texture::TALL));
        flow.put(group, texture::TALL);
    }
    let seats = seats::of(&part.joined, units, seats::MOST[1]);
    if !seats.is_empty() {
        let tall = seats::rows(&seats, wide, None);
        let at = flow.room(tall);
        let mut group = crate::sheet::Group::new("seats");
        let room = crate::geometry::Rect::new(at, [at[0] + wide, at[1] + tall]);
        let mut taken = taken::Taken::within(room);
        seats::rows(&seats, wide, Some((&mut group, &mut taken, at)));
        flow.put(group, tall);
    }
    flow.gap(0.6);
    if let Some(teeth) = &part.teeth {
        flow.heading("Teeth");
        let rows: Vec<Vec<String>> = teeth
            .table(machine.unit)
            .into_iter()
            .map(Vec::from)
            .collect();
        flow.table(&papers::TEETH, &rows);
    }
    flow
}

/// The whole packet. `assembly` is where the machine stands in its assembly drawing, `setting` what the setting sheet tells, `dial` what to take to the machine once it is
/// built; what is not given is left out. Drawings, hole tables and cut list show a second unit in brackets where `print` asks for it; the
/// operations keep to the unit of the machines' dials.
pub fn packet(
    machine: &Machine,
    job: &Job,
    assembly: Option<&Pose>,
    setting: Option<&Setting>,
    dial: Option<&Paper>,
    print: impl Into<Print>,
) -> Packet {
    let print = print.into();
    let leaf = print.leaf;
    let mut front: Vec<Page> = papers::first(machine, job, leaf);
    front.extend(papers::lists(machine, job, print));
    front.extend(
        assembly
            .into_iter()
            .flat_map(|pose| assembly::draw(machine, job, pose, leaf)),
    );
    let mut files = Vec::new();
    let mut body: Vec<Page> = Vec::new();
    let mut places = Vec::new();
    let mut wanted = Vec::new();
    let (mut volumes, mut without_solid, mut left_out) = (Vec::new(), Vec::new(), Vec::new());
    // The last sheet of the turned part before, and how far down it is used.
    let mut open: Option<(Page, f64)> = None;
    for (n, (part, sheet)) in job.parts.iter().zip(&job.sheets).enumerate() {
        if matches!(part.form, Form::Plate(_)) {
            body.extend(open.take().map(|o| o.0));
        }
        let before = body.len();
        let mut at = assembly::Places {
            drawing: body.len(),
            operations: body.len(),
            template: None,
        };
        match &part.form {
            Form::Plate(p) => {
                let mut drawing = drawing_of(machine, part, print);
                drawing.bookmarks = vec![words::spoken(&part.name)];
                body.push(drawing);
                at.operations = body.len();
                body.extend(papers::operations(
                    part,
                    sheet,
                    &block(machine, part, "operations"),
                    leaf,
                    machine,
                ));
                for cam in &p.cams {
                    let what = format!("dials of the cam {}", words::spoken(&cam.name));
                    let block = block(machine, part, &what);
                    let table = rotary(machine);
                    body.extend(cams::sheets(
                        part,
                        cam,
                        &block,
                        leaf,
                        (shop::dials(machine), table),
                    ));
                    files.push((cams::csv_name(cam), cam_csv(&cam.table, Unit::Millimetre)));
                    files.push((format!("cam-{}-dials.csv", cam.name), cams::dials_csv(cam)));
                }
                files.push((
                    format!("{}.dxf", part.name),
                    files::dxf(part, p, machine.work.shop.as_ref()),
                ));
                // A square block is laid out with a scriber.
                if !p.is_box() {
                    wanted.push(template::Wanted {
                        part: n,
                        label: format!(
                            "{}, {}, {}",
                            words::spoken(&part.name),
                            shop::cut::stock_of(
                                part.section,
                                &part.material.name,
                                machine.work.shop.as_ref(),
                                machine.unit
                            ),
                            part.off()
                        ),
                        plate: p,
                        block: block(machine, part, "template"),
                    });
                }
            }
            Form::Turned(t) => {
                let drawn = |tallest: f64, under: Option<&(Page, f64)>| {
                    turned_flow(machine, part, t, print, tallest, under)
                };
                let made = |tallest: f64, under: Option<&(Page, f64)>, foot: f64| {
                    let mut flow = drawn(tallest, under).clear(foot);
                    papers::steps(&mut flow, part, sheet, machine);
                    flow
                };
                // The largest drawing that takes the fewest sheets, and can be read.
                let [most, ..] = turned::TALLEST;
                let wide = leaf.size()[0] - 2.0 * paper::MARGIN;
                let fewest = |under: Option<&(Page, f64)>| {
                    let whole = |tall: &f64| {
                        turned::scale(t, &part.joined, wide, *tall).1
                            && (under.is_none()
                                || *tall >= turned::LEAST && drawn(*tall, under).on_one(BEGUN))
                    };
                    let each = turned::TALLEST.into_iter().filter(whole);
                    each.map(|t| (made(t, under, 0.0).sheets(), t))
                        .min_by_key(|(sheets, _)| *sheets)
                };
                let (sheets, alone) = fewest(None).unwrap_or((1, most));
                // Small parts begin on the sheet on which the one before ends, where that saves one.
                let shared =
                    fewest(open.as_ref()).filter(|(all, _)| open.is_some() && all - 1 < sheets);
                if shared.is_none() {
                    body.extend(open.take().map(|o| o.0));
                }
                at.drawing = body.len();
                at.operations = body.len();
                let under = open.take();
                let tallest = shared.map_or(alone, |s| s.1);
                let flow = flow::settled_flow(|foot| made(tallest, under.as_ref(), foot));
                let (pages, mut last) = flow.split();
                last.0.about.push(part.name.clone());
                body.extend(pages.into_iter().map(|mut p| {
                    p.about.push(part.name.clone());
                    p
                }));
                open = Some(last);
            }
        }
        places.push(at);
        if matches!(part.form, Form::Plate(_)) {
            for page in &mut body[before..] {
                page.about.push(part.name.clone());
            }
        }
        match solids::solid(part) {
            Ok(step) => {
                left_out.extend(step.left_out.map(|w| (part.name.clone(), w)));
                files.push((format!("{}.step", part.name), step.text));
                volumes.push((part.name.clone(), step.volume));
            }
            Err(why) => without_solid.push((part.name.clone(), why)),
        }
    }
    body.extend(open.take().map(|o| o.0));
    let shared = Block {
        machine: machine.name.clone(),
        title: "Templates".to_owned(),
        facts: vec!["A sheet for each one that is wanted".to_owned()],
        scale: None,
        flat: false,
    };
    for (n, (mut page, parts)) in template::all(&wanted, leaf, &shared)
        .into_iter()
        .enumerate()
    {
        if n == 0 {
            page.bookmarks = vec!["Templates".to_owned()];
        }
        for part in parts {
            page.about
                .extend(job.parts.get(part).map(|p| p.name.clone()));
            if let Some(at) = places.get_mut(part) {
                at.template.get_or_insert(body.len());
            }
        }
        body.push(page);
    }
    if let Some(setting) = setting {
        body.extend(setting::draw(machine, &job.parts, setting, leaf));
    }
    if let Some(paper) = dial {
        body.extend(dialing::draw(machine, paper, leaf));
    }
    // The list of parts tells sheets, and its own length counts: it is as long with any numbers.
    let before = front.len() + assembly::list(machine, job, &places, leaf).len() + 1;
    for at in &mut places {
        at.drawing += before;
        at.operations += before;
        at.template = at.template.map(|t| t + before);
    }
    let mut pages = front;
    pages.extend(assembly::list(machine, job, &places, leaf));
    pages.extend(body);
    // Every drawing once more by itself, for a screen or another program, under the number that it has here.
    for (part, at) in job.parts.iter().zip(&places) {
        let alone = drawing_of(machine, part, print).finish(at.drawing, pages.len());
        files.push((format!("{}.svg", part.name), pdf::plain_svg(&alone)));
    }
    files.extend(files::tables(job, machine.work.shop.as_ref()));
    Packet {
        files,
        volumes,
        without_solid,
        left_out,
        ..Packet::of(format!("{}: shop papers", machine.name), pages)
    }
}
