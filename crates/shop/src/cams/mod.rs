//! Cams as they are cut: the outline by arcs, the table of roller and cutter, the dials of a rotary table.
//!
//! What a cam looks like follows from how the machine moves, which this crate does not know: a [`CamShape`] comes from above. From there on all
//! that is said of it (drawing, templates, DXF, tables on paper, on the page and on the command line) is worked out here, once.
//!
//! Angles on a cam count from its reference, the way in which it turns while its program runs.

mod curve;
mod dials;
mod table;

pub(crate) use dials::step;
pub use dials::{Dial, dials};
pub use table::{CamRow, CamTable, table};

use crate::contour::{Contour, P};
use elements::cams::{Follower, Place, Program, Side};
use std::f64::consts::TAU;

/// The shape of a cam as the drawing of its machine leaves it.
#[derive(Clone, Debug, PartialEq)]
pub struct CamShape {
    /// Which cam of the machine.
    pub cam: usize,
    /// What rides on it.
    pub follower: Follower,
    /// Its lift, of the follower itself.
    pub program: Program,
    /// Direction of its reference in the plane as drawn, rad.
    pub direction: f64,
    /// 1 when the program runs as the cam turns counter-clockwise, −1 clockwise.
    pub sense: f64,
    /// How much wider than its roller a track is cut, mm.
    pub play: f64,
}

impl CamShape {
    /// The follower with a roller as wide as what is cut for it.
    pub(crate) fn cut(&self) -> Follower {
        let mut follower = self.follower;
        if let Follower::InLine { roller, .. } | Follower::Rocker { roller, .. } = &mut follower {
            *roller += 0.5 * self.play;
        }
        follower
    }

    /// A place of an element's picture in the cam's own axes: out along the reference, and to the left of it in the machine's view.
    pub fn in_own_axes(&self, [x, y]: P) -> P {
        match self.follower {
            // Its way is upwards in the picture.
            Follower::InLine { .. } | Follower::Flat { .. } => [y, -self.sense * x],
            Follower::Rocker { .. } => [x, self.sense * y],
        }
    }

    /// The roller over the cam at a turn of the program.
    pub fn place(&self, at: f64) -> Place {
        self.follower.place(at, self.program.at(at))
    }

    /// A line beside the roller's path, so far outside of it (inside when negative), in the cam's own axes.
    fn beside(&self, at: f64, by: f64) -> P {
        self.in_own_axes(self.place(at).flank(Side::Outer, by))
    }

    /// How far the middle of a cutter of this diameter lies outside the roller's path.
    pub(crate) fn off(&self, side: Side, cutter: f64) -> f64 {
        let by = 0.5 * cutter - self.cut().roller();
        if side == Side::Inner { by } else { -by }
    }
}

/// A cam on a plate: its outline or a track in its face. Places are the plate's.
#[derive(Clone, Debug, PartialEq)]
pub struct CamCut {
    /// Name.
    pub name: String,
    /// Its centre.
    pub centre: P,
    /// Direction of its reference, rad.
    pub reference: f64,
    /// 1 when it turns counter-clockwise while its program runs.
    pub sense: f64,
    /// Depth of a track; none of an open cam, whose flank is the outline.
    pub depth: Option<f64>,
    /// Diameter of the roller.
    pub roller: f64,
    /// How much wider than it a track is cut.
    pub play: f64,
    /// Radius of the roller's path without lift.
    pub circle: f64,
    /// Path of the roller's centre.
    pub path: Contour,
    /// The flank; of a track the inner one.
    pub flank: Contour,
    /// The outer flank of a track.
    pub outer: Option<Contour>,
    /// Diameter of the cutter that the tables are for.
    pub cutter: f64,
    /// Path of the cutter's centre along the flank.
    pub cutter_path: Contour,
    /// Along the outer flank, when the cutter is smaller than the track.
    pub outer_path: Option<Contour>,
    /// Where pieces of the program begin, as angles of the roller on the cam, rad, and what each is.
    pub pieces: Vec<(f64, String)>,
    /// Direction of its reference in the machine's plane as drawn, rad.
    pub drawn: f64,
    /// Roller and cutter degree by degree.
    pub table: CamTable,
    /// Places of the rotary table; none where the cutter's path folds back as seen from the centre.
    pub dials: Option<Vec<Dial>>,
    /// The same along the outer flank of a track.
    pub outer_dials: Option<Vec<Dial>>,
    /// Step of the rotary table, rad, and the ridge that it leaves, mm.
    pub step: [f64; 2],
}

/// Nodes of an outline: between two of them it is drawn as two arcs that touch.
const NODES: u32 = 240;

impl CamCut {
    /// The line beside the roller's path as an outline of arcs.
    pub(crate) fn line(shape: &CamShape, by: f64, stands: (P, f64)) -> Contour {
        let (centre, reference) = stands;
        let (s, c) = reference.sin_cos();
        let turned = |[x, y]: P| [c * x - s * y, s * x + c * y];
        let nodes = (0..NODES).map(|n| {
            let at = f64::from(n) * TAU / f64::from(NODES);
            let [x, y] = turned(shape.beside(at, by));
            let [u, w] = turned(shape.in_own_axes(shape.place(at).normal));
            // Counter-clockwise round the metal the normal is on the right.
            ([centre[0] + x, centre[1] + y], [-w, u])
        });
        curve::through(nodes.collect())
    }

    /// Direction on the plate of an angle on the cam, rad.
    pub fn ray(&self, at: f64) -> f64 {
        self.reference - self.sense * at
    }

    /// The sides that this cam makes of a plate's outline.
    pub fn is_outline(&self) -> bool {
        self.depth.is_none()
    }
}
