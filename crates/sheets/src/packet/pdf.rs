//! One PDF of many sheets: true size, fonts embedded, text that can be selected, bookmarks; the same sheets give the same bytes.

use std::fmt;

use krilla::Document;
use krilla::destination::XyzDestination;
use krilla::geom::{Point, Size};
use krilla::metadata::Metadata;
use krilla::outline::{Outline, OutlineNode};
use krilla::page::PageSettings;
use krilla_svg::{SurfaceExt as _, SvgSettings};

use crate::look::Look;
use crate::png;
use crate::sheet::Sheet;
use crate::svg;

/// Points in a millimetre.
const POINTS: f64 = 72.0 / 25.4;

/// Why there is no PDF.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PdfError(String);

impl fmt::Display for PdfError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "the PDF could not be made: {}", self.0)
    }
}

impl std::error::Error for PdfError {}

/// A sheet and where it stands among the bookmarks.
pub(super) struct Leaf<'a> {
    pub(super) sheet: &'a Sheet,
    pub(super) bookmarks: &'a [String],
    pub(super) below: bool,
}

/// The sheet as SVG without the rim round its lettering: nothing on these sheets runs through lettering, and a rim would be a second text.
pub(super) fn plain_svg(sheet: &Sheet) -> String {
    without_rim(&svg::write_exactly(sheet, Look::Print))
}

/// The style of these sheets alone, for a page that shows many of them.
pub fn paper_style() -> String {
    without_rim(&crate::look::style(Look::Print))
}

fn without_rim(text: &str) -> String {
    text.replacen(".print text{stroke:#ffffff}", ".print text{stroke:none}", 1)
}

/// The sheets as one PDF; tells each sheet as it is done.
pub(super) fn write(
    title: &str,
    leaves: &[Leaf],
    done: &mut dyn FnMut(usize),
) -> Result<Vec<u8>, PdfError> {
    let fault = |what: &str| PdfError(what.to_owned());
    let mut document = Document::new();
    let mut outline = Outline::new();
    let mut open: Option<OutlineNode> = None;
    let options = png::options();
    for (n, leaf) in leaves.iter().enumerate() {
        let tree = resvg::usvg::Tree::from_str(&plain_svg(leaf.sheet), &options)
            .map_err(|e| PdfError(e.to_string()))?;
        let [w, h] = leaf.sheet.size.map(|x| (x * POINTS) as f32);
        let settings = PageSettings::from_wh(w, h).ok_or_else(|| fault("a sheet has no size"))?;
        let size = Size::from_wh(w, h).ok_or_else(|| fault("a sheet has no size"))?;
        let mut page = document.start_page_with(settings);
        let mut surface = page.surface();
        surface
            .draw_svg(&tree, size, SvgSettings::default())
            .ok_or_else(|| fault("a sheet could not be drawn"))?;
        surface.finish();
        page.finish();
        for name in leaf.bookmarks {
            let node = OutlineNode::new(
                name.clone(),
                XyzDestination::new(n, Point::from_xy(0.0, 0.0)),
            );
            match (&mut open, leaf.below) {
                (Some(parent), true) => parent.push_child(node),
                _ => {
                    if let Some(before) = open.replace(node) {
                        outline.push_child(before);
                    }
                }
            }
        }
        done(n + 1);
    }
    if let Some(last) = open {
        outline.push_child(last);
    }
    document.set_outline(outline);
    document.set_metadata(
        Metadata::new()
            .title(title.to_owned())
            .creator("bellcrank".to_owned()),
    );
    document.finish().map_err(|e| PdfError(format!("{e:?}")))
}
