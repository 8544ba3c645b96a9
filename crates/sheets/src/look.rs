//! Two looks of one drawing: layout blue with bright scribed lines, and black on white.

use std::fmt::Write as _;

use crate::font;
use crate::sheet::{Fill, Hand, Pen};

/// Colours of a sheet. Line weights, symbols and lettering are the same in both.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Look {
    /// Black on white, as printed.
    #[default]
    Print,
    /// Bright lines on layout blue, as scribed.
    Board,
}

impl Look {
    /// Class of the sheet's outermost element.
    pub fn class(self) -> &'static str {
        match self {
            Self::Print => "print",
            Self::Board => "board",
        }
    }

    fn palette(self) -> Palette {
        match self {
            Self::Print => Palette {
                ground: "#ffffff",
                tint: "#f1f1f1",
                wide: "#000000",
                narrow: "#000000",
                hatch: "#4d4d4d",
                grid: "#d4d4d4",
                ghost: "#8c8c8c",
                trace: "#000000",
                drive: "#000000",
                name: "#000000",
                note: "#000000",
            },
            Self::Board => Palette {
                ground: "#16325c",
                tint: "#1f4276",
                wide: "#f6f1e2",
                narrow: "#c4d6f2",
                hatch: "#86a6d6",
                grid: "#33568c",
                ghost: "#7f9bcb",
                trace: "#f2c35b",
                drive: "#f2c35b",
                name: "#ffffff",
                note: "#dce8fa",
            },
        }
    }
}

struct Palette {
    ground: &'static str,
    tint: &'static str,
    wide: &'static str,
    narrow: &'static str,
    hatch: &'static str,
    grid: &'static str,
    ghost: &'static str,
    trace: &'static str,
    drive: &'static str,
    name: &'static str,
    note: &'static str,
}

impl Palette {
    fn pen(&self, pen: Pen) -> &'static str {
        match pen {
            Pen::Wide | Pen::WideDashed | Pen::WideDotted => self.wide,
            Pen::Narrow | Pen::Dashed | Pen::Chain => self.narrow,
            Pen::Hatch => self.hatch,
            Pen::Grid => self.grid,
            Pen::Ghost => self.ghost,
            Pen::Trace => self.trace,
            Pen::Drive | Pen::Limit => self.drive,
        }
    }

    fn fill(&self, fill: Fill) -> &'static str {
        match fill {
            Fill::None => "none",
            Fill::Ground => self.ground,
            Fill::Ink => self.wide,
            Fill::DriveInk => self.drive,
            Fill::Tint => self.tint,
        }
    }

    fn hand(&self, hand: Hand) -> &'static str {
        match hand {
            Hand::Name => self.name,
            Hand::Note => self.note,
            Hand::Drive => self.drive,
        }
    }

    /// The colours as rules for a sheet with this class.
    fn rules(&self, class: &str) -> String {
        let mut css = String::new();
        // Lettering carries a rim of the ground, so that a line under it is broken, as a draughtsman breaks it.
        let _ = writeln!(
            css,
            ".{class} .paper{{fill:{0}}}\n.{class} text{{stroke:{0}}}",
            self.ground
        );
        for pen in Pen::ALL {
            let _ = writeln!(css, ".{class} .{}{{stroke:{}}}", pen.class(), self.pen(pen));
        }
        for fill in [Fill::Ground, Fill::Ink, Fill::DriveInk, Fill::Tint] {
            if let Some(name) = fill.class() {
                let _ = writeln!(css, ".{class} .{name}{{fill:{}}}", self.fill(fill));
            }
        }
        for hand in [Hand::Name, Hand::Note, Hand::Drive] {
            let weight = if hand.is_bold() {
                ";font-weight:bold"
            } else {
                ""
            };
            let _ = writeln!(
                css,
                ".{class} .{}{{fill:{}{weight}}}",
                hand.class(),
                self.hand(hand)
            );
        }
        css
    }
}

/// The style sheet of a drawing. Every rule names the class of the sheet, so that two drawings of different looks can stand in
/// one page; what is put on the board is printed black on white.
pub(crate) fn style(look: Look) -> String {
    let class = look.class();
    let mut css = String::from("\n");
    let _ = writeln!(
        css,
        ".{class} path,.{class} circle{{fill:none;stroke-linecap:round;stroke-linejoin:round}}"
    );
    for pen in Pen::ALL {
        let _ = write!(
            css,
            ".{class} .{}{{stroke-width:{}",
            pen.class(),
            pen.width()
        );
        if let Some(dashes) = pen.dashes() {
            let _ = write!(css, ";stroke-dasharray:{dashes};stroke-linecap:butt");
        }
        css.push_str("}\n");
    }
    let family = font::FAMILY;
    let _ = writeln!(
        css,
        ".{class} text{{font-family:\"{family}\",Verdana,sans-serif;font-kerning:none;paint-order:stroke;stroke-width:1;stroke-linejoin:round}}"
    );
    css.push_str(&look.palette().rules(class));
    if look == Look::Board {
        let _ = writeln!(
            css,
            "@media print{{\n{}}}",
            Look::Print.palette().rules(class)
        );
    }
    css
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance as in WCAG 2.2.
    fn luminance(hex: &str) -> f64 {
        let part = |i: usize| {
            let c = f64::from(u8::from_str_radix(&hex[i..i + 2], 16).unwrap()) / 255.0;
            if c <= 0.04045 {
                c / 12.92
            } else {
                ((c + 0.055) / 1.055).powf(2.4)
            }
        };
        0.2126 * part(1) + 0.7152 * part(3) + 0.0722 * part(5)
    }

    fn contrast(a: &str, b: &str) -> f64 {
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    #[test]
    fn lettering_and_lines_stand_out_from_the_ground() {
        for look in [Look::Print, Look::Board] {
            let p = look.palette();
            for hand in [p.name, p.note, p.drive] {
                assert!(contrast(hand, p.ground) >= 7.0, "{look:?} {hand}");
                assert!(contrast(hand, p.tint) >= 4.5, "{look:?} {hand}");
            }
            for line in Pen::ALL.into_iter().filter(|p| *p != Pen::Grid) {
                assert!(contrast(p.pen(line), p.ground) >= 3.0, "{look:?} {line:?}");
            }
        }
    }
}
