//! The text of a solid (ISO 10303-21, schema of AP214).

use super::{Curve, P3, Solid, Surface};
use std::fmt::Write as _;

/// A number as the format wants it: always with a point.
fn real(x: f64) -> String {
    let x = if x.abs() < 5e-13 { 0.0 } else { x };
    let mut text = format!("{x:.12}");
    while text.ends_with('0') {
        text.pop();
    }
    text
}

impl Solid {
    /// The file.
    pub(crate) fn write(&self, name: &str) -> String {
        let mut w = Writer::default();
        let (unit, context) = w.head(name);
        // Edges that no face uses (where two layers go on as one wall) are left out, and what only they use.
        let mut wanted = vec![false; self.curves.len()];
        for (n, _) in self.faces.iter().flat_map(|f| f.1.iter().flatten()) {
            wanted[*n] = true;
        }
        let mut seen = vec![false; self.places.len()];
        for (a, b, _) in self
            .curves
            .iter()
            .zip(&wanted)
            .filter(|w| *w.1)
            .map(|w| w.0)
        {
            seen[*a] = true;
            seen[*b] = true;
        }
        let points: Vec<usize> = self
            .places
            .iter()
            .zip(&seen)
            .map(|(p, seen)| if *seen { w.point(*p) } else { 0 })
            .collect();
        let vertices: Vec<usize> = points
            .iter()
            .map(|p| {
                if *p == 0 {
                    0
                } else {
                    w.put(&format!("VERTEX_POINT('',#{p})"))
                }
            })
            .collect();
        let mut edges = Vec::new();
        for ((a, b, curve), wanted) in self.curves.iter().zip(wanted) {
            if !wanted {
                edges.push(0);
                continue;
            }
            let curve = match curve {
                Curve::Line => {
                    let d: P3 = std::array::from_fn(|i| self.places[*b][i] - self.places[*a][i]);
                    let l = d.iter().map(|x| x * x).sum::<f64>().sqrt();
                    let direction = w.direction(d.map(|x| x / l));
                    let vector = w.put(&format!("VECTOR('',#{direction},1.)"));
                    w.put(&format!("LINE('',#{},#{vector})", points[*a]))
                }
                Curve::Arc {
                    centre,
                    axis,
                    radius,
                } => {
                    let place = w.placement(*centre, *axis);
                    w.put(&format!("CIRCLE('',#{place},{})", real(*radius)))
                }
                Curve::Spline(nodes) => w.spline(nodes),
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
                Surface::Cylinder(at, axis, r, outward) => {
                    let place = w.placement(at, axis);
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

    /// A cubic through places with tangents: knots twice, control points a third of a derivative beside each place.
    fn spline(&mut self, nodes: &[[P3; 2]]) -> usize {
        let last = nodes.len().saturating_sub(1);
        let mut points = Vec::new();
        for (n, [p, d]) in nodes.iter().enumerate() {
            let beside = |by: f64| std::array::from_fn(|i| p[i] + by * d[i] / 3.0);
            if n > 0 {
                points.push(beside(-1.0));
            }
            if n == 0 || n == last {
                points.push(*p);
            }
            if n < last {
                points.push(beside(1.0));
            }
        }
        let list: Vec<String> = points
            .into_iter()
            .map(|p| format!("#{}", self.point(p)))
            .collect();
        let knots: Vec<String> = (0..=last).map(|n| format!("{n}.")).collect();
        let many: Vec<&str> = (0..=last)
            .map(|n| if n == 0 || n == last { "4" } else { "2" })
            .collect();
        self.put(&format!(
            "B_SPLINE_CURVE_WITH_KNOTS('',3,({}),.UNSPECIFIED.,.F.,.F.,({}),({}),.UNSPECIFIED.)",
            list.join(","),
            many.join(","),
            knots.join(",")
        ))
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
