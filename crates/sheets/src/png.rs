//! A sheet as a PNG picture, drawn with the fonts of the program and never with fonts of the system.

use std::fmt;
use std::sync::{Arc, LazyLock};

use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::{Options, Tree, fontdb};

use crate::font;

/// Most dots a picture may have along one side.
pub const MOST_DOTS: u32 = 10_000;

/// Why no picture was made.
#[derive(Clone, Debug, PartialEq)]
pub enum PngError {
    /// The dots per mm asked for are not a positive number.
    NoSize {
        /// What was asked for.
        dots_per_mm: f64,
    },
    /// The picture would be larger than [`MOST_DOTS`] along one side.
    TooLarge {
        /// Dots along the longer side.
        dots: f64,
        /// The greatest number of dots per mm that fits.
        most_dots_per_mm: f64,
    },
    /// The drawing could not be read back or coded; the text is that of the picture library.
    Library(String),
}

impl fmt::Display for PngError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoSize { dots_per_mm } => write!(
                f,
                "{dots_per_mm} dots per mm is no size for a picture; give a number above 0"
            ),
            Self::TooLarge {
                dots,
                most_dots_per_mm,
            } => write!(
                f,
                "the picture would be {dots:.0} dots long, the most is {MOST_DOTS}; ask for at most {most_dots_per_mm:.1} dots per mm"
            ),
            Self::Library(text) => write!(f, "the picture could not be made: {text}"),
        }
    }
}

impl std::error::Error for PngError {}

static FONTS: LazyLock<Arc<fontdb::Database>> = LazyLock::new(|| {
    let mut fonts = fontdb::Database::new();
    for face in [dejavu::sans::regular(), dejavu::sans::bold()] {
        fonts.load_font_source(fontdb::Source::Binary(Arc::new(face)));
    }
    fonts.set_sans_serif_family(font::FAMILY);
    fonts.set_serif_family(font::FAMILY);
    Arc::new(fonts)
});

/// How SVG is read: with the fonts of the program and no others.
pub(crate) fn options() -> Options<'static> {
    Options {
        font_family: font::FAMILY.to_owned(),
        fontdb: Arc::clone(&FONTS),
        ..Options::default()
    }
}

/// The picture of an SVG of `size` mm.
pub(crate) fn render(svg: &str, size: [f64; 2], dots_per_mm: f64) -> Result<Vec<u8>, PngError> {
    if !(dots_per_mm.is_finite() && dots_per_mm > 0.0) {
        return Err(PngError::NoSize { dots_per_mm });
    }
    let longest = size[0].max(size[1]);
    let dots = longest * dots_per_mm;
    if dots > f64::from(MOST_DOTS) {
        return Err(PngError::TooLarge {
            dots,
            most_dots_per_mm: f64::from(MOST_DOTS) / longest,
        });
    }
    let tree = Tree::from_str(svg, &options()).map_err(|e| PngError::Library(e.to_string()))?;
    let [w, h] = size.map(|s| (s * dots_per_mm).ceil().max(1.0) as u32);
    let mut pixmap = Pixmap::new(w, h).ok_or(PngError::NoSize { dots_per_mm })?;
    // usvg has turned mm into its own dots of 1/96 in.
    let scale = (size[0] * dots_per_mm / f64::from(tree.size().width())) as f32;
    resvg::render(
        &tree,
        Transform::from_scale(scale, scale),
        &mut pixmap.as_mut(),
    );
    pixmap
        .encode_png()
        .map_err(|e| PngError::Library(e.to_string()))
}
