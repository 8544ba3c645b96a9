//! DXF of release 12: lines, arcs, circles and text in mm. Nothing in it needs a handle, so that any cutter reads it.
//!
//! Group codes: the DXF reference of release 12 (as given in public copies). Release 12 has no units; a note on its own layer tells them.

use std::fmt::Write as _;

/// A drawing as it grows. x right, y up, mm.
#[derive(Clone, Debug, Default)]
pub(crate) struct Dxf {
    layers: Vec<(&'static str, u8)>,
    entities: String,
}

fn number(x: f64) -> String {
    let text = format!("{x:.6}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" {
        "0".to_owned()
    } else {
        text.to_owned()
    }
}

/// Text of release 12 is not Unicode: degree, plus-minus and diameter have codes of their own, the rest of what is not ASCII goes.
fn plain(text: &str) -> String {
    let mut out = String::new();
    for c in text.chars() {
        match c {
            '°' => out.push_str("%%d"),
            '±' => out.push_str("%%p"),
            '⌀' => out.push_str("%%c"),
            '−' => out.push('-'),
            c if c.is_ascii() && !c.is_ascii_control() => out.push(c),
            _ => out.push('?'),
        }
    }
    out
}

impl Dxf {
    /// A drawing with these layers and their colours.
    pub(crate) fn new(layers: &[(&'static str, u8)]) -> Self {
        Self {
            layers: layers.to_vec(),
            entities: String::new(),
        }
    }

    fn entity(&mut self, kind: &str, layer: &str, pairs: &[(u32, String)]) {
        let _ = write!(self.entities, "0\n{kind}\n8\n{layer}\n");
        for (code, value) in pairs {
            let _ = write!(self.entities, "{code}\n{value}\n");
        }
    }

    pub(crate) fn line(&mut self, layer: &str, a: [f64; 2], b: [f64; 2]) {
        let at = |code: u32, p: [f64; 2]| {
            [
                (code, number(p[0])),
                (code + 10, number(p[1])),
                (code + 20, "0".to_owned()),
            ]
        };
        let [a, b] = [at(10, a), at(11, b)];
        self.entity("LINE", layer, &[a, b].concat());
    }

    pub(crate) fn circle(&mut self, layer: &str, centre: [f64; 2], radius: f64) {
        self.entity(
            "CIRCLE",
            layer,
            &[
                (10, number(centre[0])),
                (20, number(centre[1])),
                (30, "0".to_owned()),
                (40, number(radius)),
            ],
        );
    }

    /// Counter-clockwise from one angle to another, rad.
    pub(crate) fn arc(&mut self, layer: &str, centre: [f64; 2], radius: f64, from: f64, to: f64) {
        let degrees = |a: f64| number(a.to_degrees().rem_euclid(360.0));
        self.entity(
            "ARC",
            layer,
            &[
                (10, number(centre[0])),
                (20, number(centre[1])),
                (30, "0".to_owned()),
                (40, number(radius)),
                (50, degrees(from)),
                (51, degrees(to)),
            ],
        );
    }

    /// Text with its foot in the middle of this place, turned by an angle, rad.
    pub(crate) fn text(&mut self, layer: &str, at: [f64; 2], height: f64, turn: f64, text: &str) {
        let (x, y) = (number(at[0]), number(at[1]));
        self.entity(
            "TEXT",
            layer,
            &[
                (10, x.clone()),
                (20, y.clone()),
                (30, "0".to_owned()),
                (40, number(height)),
                (1, plain(text)),
                (50, number(turn.to_degrees())),
                (72, "1".to_owned()),
                (11, x),
                (21, y),
                (31, "0".to_owned()),
            ],
        );
    }

    /// The whole file.
    pub(crate) fn write(&self) -> String {
        let mut text = String::from(
            "0\nSECTION\n2\nHEADER\n9\n$ACADVER\n1\nAC1009\n0\nENDSEC\n0\nSECTION\n2\nTABLES\n",
        );
        text.push_str("0\nTABLE\n2\nLTYPE\n70\n1\n0\nLTYPE\n2\nCONTINUOUS\n70\n64\n3\nSolid line\n72\n65\n73\n0\n40\n0\n0\nENDTAB\n");
        let _ = write!(text, "0\nTABLE\n2\nLAYER\n70\n{}\n", self.layers.len() + 1);
        for (name, colour) in [("0", 7)].into_iter().chain(self.layers.iter().copied()) {
            let _ = write!(
                text,
                "0\nLAYER\n2\n{name}\n70\n0\n62\n{colour}\n6\nCONTINUOUS\n"
            );
        }
        text.push_str("0\nENDTAB\n0\nTABLE\n2\nSTYLE\n70\n1\n0\nSTYLE\n2\nSTANDARD\n70\n0\n40\n0\n41\n1\n50\n0\n71\n0\n42\n2.5\n3\ntxt\n4\n\n0\nENDTAB\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n");
        text.push_str(&self.entities);
        text.push_str("0\nENDSEC\n0\nEOF\n");
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_code_has_its_value() {
        let mut d = Dxf::new(&[("MARKS", 7)]);
        d.line("MARKS", [0.0, -0.0], [1.5, 2.0]);
        d.arc("MARKS", [0.0, 0.0], 10.0, -0.1, 0.1);
        d.circle("MARKS", [0.0, 0.0], 3.0);
        d.text("MARKS", [1.0, 2.0], 2.5, 0.1, "12° ± ⌀");
        let text = d.write();
        let lines: Vec<&str> = text.lines().collect();
        assert_eq!(lines.len() % 2, 0);
        assert!(
            lines.iter().step_by(2).all(|c| c.parse::<u32>().is_ok()),
            "{text}"
        );
        assert!(text.is_ascii() && text.contains("12%%d %%p %%c"));
        assert!(text.ends_with("0\nEOF\n"));
    }
}
