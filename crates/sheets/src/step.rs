//! Solids as STEP text (ISO 10303-21, schema of AP214): closed shells of planes, cylinders and cones, mm. Circles are halved, so that no face
//! closes on itself.

use std::collections::BTreeMap;
use std::f64::consts::{PI, TAU};
use std::fmt::Write as _;

type P2 = [f64; 2];
type P3 = [f64; 3];

/// A number as the format wants it: always with a point.
fn real(x: f64) -> String {
    let x = if x.abs() < 5e-13 { 0.0 } else { x };
    let mut text = format!("{x:.12}");
    while text.ends_with('0') {
        text.pop();
    }
    text
}

fn key(p: P3) -> [i64; 3] {
    p.map(|x| (x * 1e7).round() as i64)
}

/// A curve between two vertices.
#[derive(Clone, Copy, Debug)]
enum Curve {
    Line,
    /// About +z through this centre, counter-clockwise from the edge's first vertex.
    Arc {
        centre: P3,
        radius: f64,
    },
}

/// An edge and the way it is gone.
type Way = (usize, bool);

enum Surface {
    /// A place and the outward normal.
    Plane(P3, P3),
    /// About +z: a place on the axis, radius, outward is away from the axis.
    Cylinder(P3, f64, bool),
    /// About +z or -z, the way the radius grows: a place on the axis, that way, radius there, half angle, outward is away from the axis.
    Cone(P3, f64, f64, f64, bool),
}

/// A solid that grows face by face.
#[derive(Default)]
pub(crate) struct Solid {
    vertices: BTreeMap<[i64; 3], usize>,
    places: Vec<P3>,
    edges: BTreeMap<(usize, usize, [i64; 3]), usize>,
    curves: Vec<(usize, usize, Curve)>,
    faces: Vec<(Surface, Vec<Vec<Way>>)>,
}

/// A side of an outline in a plane: straight, or an arc by its centre, radius, first direction and sweep.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Side {
    Line(P2, P2),
    Arc(P2, f64, f64, f64),
}

impl Side {
    /// Gone the other way.
    pub(crate) fn back(self) -> Self {
        match self {
            Self::Line(a, b) => Self::Line(b, a),
            Self::Arc(c, r, from, sweep) => Self::Arc(c, r, from + sweep, -sweep),
        }
    }

    fn ends(&self) -> [P2; 2] {
        match *self {
            Self::Line(a, b) => [a, b],
            Self::Arc(c, r, from, sweep) => {
                [from, from + sweep].map(|a| [c[0] + r * a.cos(), c[1] + r * a.sin()])
            }
        }
    }
}

impl Solid {
    fn vertex(&mut self, p: P3) -> usize {
        if let Some(&v) = self.vertices.get(&key(p)) {
            return v;
        }
        self.places.push(p);
        self.vertices.insert(key(p), self.places.len() - 1);
        self.places.len() - 1
    }

    fn edge(&mut self, a: P3, b: P3, curve: Curve) -> Way {
        let (a, b) = (self.vertex(a), self.vertex(b));
        match curve {
            Curve::Line => {
                let (lo, hi) = (a.min(b), a.max(b));
                let n = self.keep(lo, hi, [i64::MIN; 3], curve);
                (n, lo == a)
            }
            Curve::Arc { centre, .. } => (self.keep(a, b, key(centre), curve), true),
        }
    }

    fn keep(&mut self, a: usize, b: usize, about: [i64; 3], curve: Curve) -> usize {
        if let Some(&n) = self.edges.get(&(a, b, about)) {
            return n;
        }
        self.curves.push((a, b, curve));
        self.edges.insert((a, b, about), self.curves.len() - 1);
        self.curves.len() - 1
    }

    fn line(&mut self, a: P3, b: P3) -> Way {
        self.edge(a, b, Curve::Line)
    }

    /// An arc about +z; clockwise ones are gone backwards.
    fn arc(&mut self, c: P3, r: f64, from: f64, sweep: f64) -> Way {
        let at = |a: f64| [c[0] + r * a.cos(), c[1] + r * a.sin(), c[2]];
        let curve = Curve::Arc {
            centre: c,
            radius: r,
        };
        if sweep > 0.0 {
            self.edge(at(from), at(from + sweep), curve)
        } else {
            let (n, _) = self.edge(at(from + sweep), at(from), curve);
            (n, false)
        }
    }

    /// A whole circle as two edges, counter-clockwise or not.
    fn circle(&mut self, c: P3, r: f64, ccw: bool) -> Vec<Way> {
        let (a, b) = (self.arc(c, r, 0.0, PI), self.arc(c, r, PI, PI));
        if ccw {
            vec![a, b]
        } else {
            vec![(b.0, false), (a.0, false)]
        }
    }

    /// A flat face square to z with its loops seen from above: the outer one counter-clockwise, those of openings clockwise.
    fn flat(&mut self, z: f64, up: bool, loops: Vec<Vec<Way>>) {
        let loops = if up {
            loops
        } else {
            let back = |l: Vec<Way>| l.into_iter().rev().map(|(n, f)| (n, !f)).collect();
            loops.into_iter().map(back).collect()
        };
        let n = if up { 1.0 } else { -1.0 };
        self.faces
            .push((Surface::Plane([0.0, 0.0, z], [0.0, 0.0, n]), loops));
    }

    /// The wall over one side of an outline that runs counter-clockwise round the metal.
    fn wall(&mut self, side: &Side, low: f64, high: f64) {
        let [a, b] = side.ends();
        let at = |p: P2, z: f64| [p[0], p[1], z];
        let (bottom, top) = match *side {
            Side::Line(..) => (
                self.line(at(a, low), at(b, low)),
                self.line(at(a, high), at(b, high)),
            ),
            Side::Arc(c, r, from, sweep) => (
                self.arc(at(c, low), r, from, sweep),
                self.arc(at(c, high), r, from, sweep),
            ),
        };
        let up = self.line(at(b, low), at(b, high));
        let down = self.line(at(a, high), at(a, low));
        let surface = match *side {
            Side::Line(..) => {
                let d = [b[0] - a[0], b[1] - a[1]];
                let l = d[0].hypot(d[1]);
                Surface::Plane(at(a, low), [d[1] / l, -d[0] / l, 0.0])
            }
            Side::Arc(c, r, _, sweep) => Surface::Cylinder(at(c, low), r, sweep > 0.0),
        };
        self.faces
            .push((surface, vec![vec![bottom, up, (top.0, !top.1), down]]));
    }

    /// The face that the line from `a` to `b` (radius, height) sweeps about an axis along z; metal lies left of it.
    fn turned(&mut self, c: P2, a: P2, b: P2) {
        let at = |z: f64| [c[0], c[1], z];
        if (a[1] - b[1]).abs() < 1e-9 {
            // Outward along z: up where the line runs towards the axis.
            let up = b[0] < a[0];
            let (big, small) = (a[0].max(b[0]), a[0].min(b[0]));
            let mut loops = vec![self.circle(at(a[1]), big, true)];
            if small > 1e-9 {
                loops.push(self.circle(at(a[1]), small, false));
            }
            self.flat(a[1], up, loops);
            return;
        }
        let outward = b[1] > a[1];
        let (low, high) = if outward { (a, b) } else { (b, a) };
        let surface = || {
            if (low[0] - high[0]).abs() < 1e-9 {
                Surface::Cylinder(at(low[1]), low[0], outward)
            } else {
                let grows = if high[0] > low[0] { 1.0 } else { -1.0 };
                let (base, half) = (
                    if grows > 0.0 { low } else { high },
                    ((high[0] - low[0]).abs() / (high[1] - low[1])).atan(),
                );
                Surface::Cone(at(base[1]), grows, base[0], half, outward)
            }
        };
        for from in [0.0, PI] {
            let bottom = self.arc(at(low[1]), low[0], from, PI);
            let top = self.arc(at(high[1]), high[0], from, PI);
            let on =
                |r: f64, angle: f64, z: f64| [c[0] + r * angle.cos(), c[1] + r * angle.sin(), z];
            let up = self.line(
                on(low[0], from + PI, low[1]),
                on(high[0], from + PI, high[1]),
            );
            let down = self.line(on(high[0], from, high[1]), on(low[0], from, low[1]));
            let mut ways = vec![bottom, up, (top.0, !top.1), down];
            if !outward {
                ways = ways.into_iter().rev().map(|(n, f)| (n, !f)).collect();
            }
            self.faces.push((surface(), vec![ways]));
        }
    }

    /// A body turned about z: a closed line of radii and heights, metal on its left.
    pub(crate) fn body(profile: &[P2]) -> Self {
        let mut solid = Self::default();
        for (i, &a) in profile.iter().enumerate() {
            let b = profile[(i + 1) % profile.len()];
            let nothing = (a[0] - b[0]).hypot(a[1] - b[1]) < 1e-9;
            if !nothing && (a[0] > 1e-9 || b[0] > 1e-9) {
                solid.turned([0.0, 0.0], a, b);
            }
        }
        solid
    }

    /// A plate: its outline counter-clockwise, openings right through, and holes by centre and line of radii and heights from the top down
    /// (a blind one ends at radius 0).
    pub(crate) fn plate(
        outline: &[Side],
        high: f64,
        through: &[Vec<Side>],
        holes: &[(P2, Vec<P2>)],
    ) -> Self {
        let mut solid = Self::default();
        let mut loops: [Vec<Vec<Way>>; 2] = [Vec::new(), Vec::new()];
        for (n, z) in [0.0, high].into_iter().enumerate() {
            for sides in std::iter::once(outline).chain(through.iter().map(Vec::as_slice)) {
                let ways = sides
                    .iter()
                    .map(|s| match *s {
                        Side::Line(a, b) => solid.line([a[0], a[1], z], [b[0], b[1], z]),
                        Side::Arc(c, r, from, sweep) => solid.arc([c[0], c[1], z], r, from, sweep),
                    })
                    .collect();
                loops[n].push(ways);
            }
        }
        for side in outline.iter().chain(through.iter().flatten()) {
            solid.wall(side, 0.0, high);
        }
        for (c, line) in holes {
            let (Some(first), Some(last)) = (line.first(), line.last()) else {
                continue;
            };
            let top = solid.circle([c[0], c[1], high], first[0], false);
            loops[1].push(top);
            if last[0] > 1e-9 {
                let bottom = solid.circle([c[0], c[1], 0.0], last[0], false);
                loops[0].push(bottom);
            }
            for pair in line.windows(2) {
                solid.turned(*c, pair[0], pair[1]);
            }
        }
        let [low, up] = loops;
        solid.flat(0.0, false, low);
        solid.flat(high, true, up);
        solid
    }

    /// The file.
    pub(crate) fn write(&self, name: &str) -> String {
        let mut w = Writer::default();
        let (unit, context) = w.head(name);
        let points: Vec<usize> = self.places.iter().map(|p| w.point(*p)).collect();
        let vertices: Vec<usize> = points
            .iter()
            .map(|p| w.put(&format!("VERTEX_POINT('',#{p})")))
            .collect();
        let mut edges = Vec::new();
        for (a, b, curve) in &self.curves {
            let curve = match *curve {
                Curve::Line => {
                    let d: P3 = std::array::from_fn(|i| self.places[*b][i] - self.places[*a][i]);
                    let l = d.iter().map(|x| x * x).sum::<f64>().sqrt();
                    let direction = w.direction(d.map(|x| x / l));
                    let vector = w.put(&format!("VECTOR('',#{direction},1.)"));
                    w.put(&format!("LINE('',#{},#{vector})", points[*a]))
                }
                Curve::Arc { centre, radius } => {
                    let place = w.placement(centre, [0.0, 0.0, 1.0]);
                    w.put(&format!("CIRCLE('',#{place},{})", real(radius)))
                }
            };
            edges.push(w.put(&format!(
                "EDGE_CURVE('',#{},#{},#{curve},.T.)",
                vertices[*a], vertices[*b]
            )));
        }
        let mut faces = Vec::new();
        for (surface, loops) in &self.faces {
            let mut bounds = Vec::new();
            for (n, ways) in loops.iter().enumerate() {
                let list: Vec<String> = ways
                    .iter()
                    .map(|(e, forward)| {
                        let sense = if *forward { ".T." } else { ".F." };
                        format!(
                            "#{}",
                            w.put(&format!("ORIENTED_EDGE('',*,*,#{},{sense})", edges[*e]))
                        )
                    })
                    .collect();
                let around = w.put(&format!("EDGE_LOOP('',({}))", list.join(",")));
                let kind = if n == 0 {
                    "FACE_OUTER_BOUND"
                } else {
                    "FACE_BOUND"
                };
                bounds.push(format!("#{}", w.put(&format!("{kind}('',#{around},.T.)"))));
            }
            let (surface, same) = match *surface {
                Surface::Plane(at, normal) => {
                    let place = w.placement(at, normal);
                    (w.put(&format!("PLANE('',#{place})")), true)
                }
                Surface::Cylinder(at, r, outward) => {
                    let place = w.placement(at, [0.0, 0.0, 1.0]);
                    (
                        w.put(&format!("CYLINDRICAL_SURFACE('',#{place},{})", real(r))),
                        outward,
                    )
                }
                Surface::Cone(at, grows, r, half, outward) => {
                    let place = w.placement(at, [0.0, 0.0, grows]);
                    (
                        w.put(&format!(
                            "CONICAL_SURFACE('',#{place},{},{})",
                            real(r),
                            real(half)
                        )),
                        outward,
                    )
                }
            };
            let same = if same { ".T." } else { ".F." };
            faces.push(format!(
                "#{}",
                w.put(&format!(
                    "ADVANCED_FACE('',({}),#{surface},{same})",
                    bounds.join(",")
                ))
            ));
        }
        let shell = w.put(&format!("CLOSED_SHELL('',({}))", faces.join(",")));
        let solid = w.put(&format!("MANIFOLD_SOLID_BREP('{name}',#{shell})"));
        let origin = w.placement([0.0; 3], [0.0, 0.0, 1.0]);
        let shape = w.put(&format!(
            "ADVANCED_BREP_SHAPE_REPRESENTATION('{name}',(#{origin},#{solid}),#{context})"
        ));
        w.put(&format!(
            "SHAPE_DEFINITION_REPRESENTATION(#{unit},#{shape})"
        ));
        w.finish(name)
    }
}

#[derive(Default)]
struct Writer {
    lines: String,
    count: usize,
}

impl Writer {
    fn put(&mut self, text: &str) -> usize {
        self.count += 1;
        let _ = writeln!(self.lines, "#{}={text};", self.count);
        self.count
    }

    fn point(&mut self, p: P3) -> usize {
        let [x, y, z] = p.map(real);
        self.put(&format!("CARTESIAN_POINT('',({x},{y},{z}))"))
    }

    fn direction(&mut self, d: P3) -> usize {
        let [x, y, z] = d.map(real);
        self.put(&format!("DIRECTION('',({x},{y},{z}))"))
    }

    fn placement(&mut self, at: P3, axis: P3) -> usize {
        let across = if axis[2].abs() > 0.5 {
            [1.0, 0.0, 0.0]
        } else {
            [0.0, 0.0, 1.0]
        };
        let (p, z, x) = (self.point(at), self.direction(axis), self.direction(across));
        self.put(&format!("AXIS2_PLACEMENT_3D('',#{p},#{z},#{x})"))
    }

    /// Product, units and context: the definition of the shape, and the context.
    fn head(&mut self, name: &str) -> (usize, usize) {
        let app =
            self.put("APPLICATION_CONTEXT('core data for automotive mechanical design processes')");
        self.put(&format!("APPLICATION_PROTOCOL_DEFINITION('international standard','automotive_design',2000,#{app})"));
        let pc = self.put(&format!("PRODUCT_CONTEXT('',#{app},'mechanical')"));
        let product = self.put(&format!("PRODUCT('{name}','{name}','',(#{pc}))"));
        self.put(&format!(
            "PRODUCT_RELATED_PRODUCT_CATEGORY('part','',(#{product}))"
        ));
        let formation = self.put(&format!("PRODUCT_DEFINITION_FORMATION('','',#{product})"));
        let pdc = self.put(&format!(
            "PRODUCT_DEFINITION_CONTEXT('part definition',#{app},'design')"
        ));
        let definition = self.put(&format!(
            "PRODUCT_DEFINITION('design','',#{formation},#{pdc})"
        ));
        let shape = self.put(&format!("PRODUCT_DEFINITION_SHAPE('','',#{definition})"));
        let mm = self.put("(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.MILLI.,.METRE.))");
        let rad = self.put("(NAMED_UNIT(*)PLANE_ANGLE_UNIT()SI_UNIT($,.RADIAN.))");
        let sr = self.put("(NAMED_UNIT(*)SI_UNIT($,.STERADIAN.)SOLID_ANGLE_UNIT())");
        let close = self.put(&format!("UNCERTAINTY_MEASURE_WITH_UNIT(LENGTH_MEASURE(1.E-7),#{mm},'distance_accuracy_value','')"));
        let context = self.put(&format!("(GEOMETRIC_REPRESENTATION_CONTEXT(3)GLOBAL_UNCERTAINTY_ASSIGNED_CONTEXT((#{close}))GLOBAL_UNIT_ASSIGNED_CONTEXT((#{mm},#{rad},#{sr}))REPRESENTATION_CONTEXT('',''))"));
        (shape, context)
    }

    fn finish(self, name: &str) -> String {
        format!(
            "ISO-10303-21;\nHEADER;\nFILE_DESCRIPTION(('{name}, mm'),'2;1');\nFILE_NAME('{name}.step','1970-01-01T00:00:00',(''),(''),'bellcrank','bellcrank','');\nFILE_SCHEMA(('AUTOMOTIVE_DESIGN {{ 1 0 10303 214 1 1 1 1 }}'));\nENDSEC;\nDATA;\n{}ENDSEC;\nEND-ISO-10303-21;\n",
            self.lines
        )
    }
}

/// Volume of a turned body by its line (frustums).
pub(crate) fn turned_volume(profile: &[P2]) -> f64 {
    (0..profile.len())
        .map(|i| {
            let (a, b) = (profile[i], profile[(i + 1) % profile.len()]);
            TAU / 6.0 * (a[0] * a[0] + a[0] * b[0] + b[0] * b[0]) * (b[1] - a[1])
        })
        .sum()
}
