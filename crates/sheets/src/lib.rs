//! Draws: views of a machine in any pose and curves of readings, as SVG and PNG. Knows where things stand, from the studies;
//! never how a result came about.
//!
//! Machine and standing go in, a [`Drawing`] comes out. Sheets are measured in mm of paper, x to the right and y down.
//! Views stand in first-angle or third-angle projection at a round scale.
//! Lines are those of ISO 128 in two weights, lettering has the heights of ISO 3098, joints the symbols of ISO 3952.
//!
//! ```
//! use sheets::{Look, Options, Pose, draw};
//!
//! let file = r#"
//! name = "Rocker"
//! [point]
//! pivot = [0, 0]
//! grip = [0, 80]
//! [frame]
//! carries = ["pivot"]
//! [part.lever]
//! carries = ["pivot", "grip"]
//! [drive.set]
//! turns = "lever"
//! range = [0, 60]
//! "#;
//! let machine = machine::read_text("rocker.toml", file).machine.ok_or("not a machine")?;
//! let model = studies::assemble(&machine);
//! let stand = model.drawn();
//! let standing = studies::standing(&model, &stand).map_err(|refusal| refusal.message)?;
//! let pose = Pose { standing: &standing, drives: &stand.drives, settings: &stand.settings };
//! let drawing = draw(&machine, &pose, &[], &[], &Options::default());
//! assert_eq!(drawing.scale.to_string(), "2:1"); // the largest round one for A4
//! assert!(drawing.svg(Look::Print).contains("lever"));
//! # Ok::<(), String>(())
//! ```

mod bars;
mod body;
mod buckets;
mod cam_plot;
mod contour;
mod cycle_plot;
mod dial_scale;
mod drawing;
mod drives;
mod dxf;
mod fit_plot;
mod font;
mod forces;
mod geometry;
mod guides;
mod labels;
mod layout;
mod lines;
pub mod live;
mod load_plot;
mod look;
mod motion_plot;
mod number;
mod packet;
mod panel;
pub mod plot;
mod png;
mod pose;
mod scale;
mod scene;
mod shaft_plot;
mod sheet;
mod step;
mod svg;
mod symbols;
mod ticks;
mod title_block;
mod view;
mod wheels;

pub use dial_scale::{scale_dxf, scale_sheet};
pub use drawing::{Drawing, ViewPlace, draw, draw_forces};
pub use forces::{Force, all_forces, forces};
pub use look::Look;
pub use packet::{
    Leaf, Packet, PdfError, Print, Setting, cam_csv, dial_in_sheets, packet, paper_style,
    part_sheet,
};
pub use png::{MOST_DOTS, PngError};
pub use pose::{Names, Options, Paper, Pose, Projection};
pub use scale::Scale;
