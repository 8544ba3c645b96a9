//! Bars: whose share of a spread is how great.

use std::fmt::Write as _;

use studies::spread::Spread;

use crate::font::{self, LARGE, SMALL};
use crate::geometry::Rect;
use crate::number::{of_percent, value};
use crate::plot::Figure;
use crate::sheet::{Fill, Group, Hand, Hold, Lettering, Pen, Shape, Sheet};

/// Groups of bars below each other, all to one scale.
#[derive(Clone, Debug, PartialEq)]
pub struct Bars {
    /// What they show.
    pub title: String,
    /// Under what; may be empty.
    pub note: String,
    /// The groups, top to bottom.
    pub groups: Vec<BarGroup>,
}

/// Bars under one heading.
#[derive(Clone, Debug, PartialEq)]
pub struct BarGroup {
    /// The heading.
    pub title: String,
    /// The bars, top to bottom.
    pub bars: Vec<Bar>,
}

/// One bar.
#[derive(Clone, Debug, PartialEq)]
pub struct Bar {
    /// What it stands for.
    pub name: String,
    /// Its share, 0 to 1: a bar of 1 is the longest there is.
    pub share: f64,
}

/// The shares of a spread: a group an ask (a reading when there are no asks), no more than `most` bars in each; what is left is one bar
/// more.
pub fn of_spread(spread: &Spread, most: usize) -> Bars {
    let strayed: Vec<(String, _)> = if spread.asks.is_empty() {
        let readings = spread.readings.iter();
        readings.map(|s| (s.reading.name.clone(), s)).collect()
    } else {
        let asks = spread.asks.iter();
        asks.map(|a| {
            (
                format!("ask {}: {}", a.ask, a.strayed.reading.name),
                &a.strayed,
            )
        })
        .collect()
    };
    let groups = strayed.into_iter().map(|(name, s)| {
        let unit = s.reading.unit;
        let mut bars: Vec<Bar> = s
            .shares
            .iter()
            .take(most)
            .map(|part| Bar {
                name: spread
                    .dimensions
                    .get(part.dimension)
                    .map_or(String::new(), |d| d.dimension.clone()),
                share: part.share,
            })
            .collect();
        let rest: f64 = s.shares.iter().skip(most).map(|part| part.share).sum();
        let others = s.shares.len().saturating_sub(most);
        if others > 0 {
            bars.push(Bar {
                name: format!("the other {others}"),
                share: rest,
            });
        }
        BarGroup {
            title: format!(
                "{name} {}, {}",
                value(s.nominal, unit),
                s.likely_words(|v| value(v, unit))
            ),
            bars,
        }
    });
    Bars {
        title: format!("{}: share of spread", spread.machine),
        note: String::from(
            "± is three sigma, by the root of the sum of the squares; from and to is what 99.73 of 100 made machines do",
        ),
        groups: groups.collect(),
    }
}

const MARGIN: f64 = 8.0;
/// Length of a bar of all there is, mm.
const WHOLE: f64 = 60.0;
/// Height of a bar, and from one to the next.
const THICK: f64 = 3.2;
const PITCH: f64 = 5.2;
/// Between a name and its bar, and a bar and its figure.
const GAP: f64 = 1.5;
/// Widest a name may be.
const NAMES: f64 = 105.0;

/// Draws them.
pub fn bars(bars: &Bars) -> Figure {
    let mut heading = Group::new("heading");
    let mut y = MARGIN;
    for (text, height, hand) in [
        (&bars.title, LARGE, Hand::Name),
        (&bars.note, SMALL, Hand::Note),
    ] {
        for part in font::wrapped(&font::clean(text), height, hand, NAMES + WHOLE) {
            if !part.is_empty() {
                y += font::pitch(height) + 0.4;
                let at = [MARGIN, y - font::below(height)];
                heading.letter(Lettering::new(at, part, height, Hold::Start, hand));
            }
        }
    }
    let names = bars.groups.iter().flat_map(|g| &g.bars).map(|b| {
        font::wrapped(&font::clean(&b.name), SMALL, Hand::Note, NAMES)
            .iter()
            .map(|line| font::width(line, SMALL, Hand::Note))
            .fold(0.0, f64::max)
    });
    let left = MARGIN + names.fold(0.0, f64::max) + GAP;
    let mut groups = vec![heading];
    let mut description = String::new();
    for (index, group) in bars.groups.iter().enumerate() {
        let mut g = Group::named(
            "bars",
            format!("bars-{index}"),
            &group.title,
            group.title.clone(),
        );
        y += font::pitch(SMALL) + 3.0;
        let at = [MARGIN, y - font::below(SMALL)];
        g.letter(Lettering::new(
            at,
            font::clean(&group.title),
            SMALL,
            Hold::Start,
            Hand::Name,
        ));
        let top = y + 1.0;
        y = top;
        for bar in &group.bars {
            let lines = font::wrapped(&font::clean(&bar.name), SMALL, Hand::Note, NAMES);
            let middle = y + PITCH / 2.0;
            for (n, line) in lines.iter().enumerate() {
                let down = middle + SMALL / 2.0 + n as f64 * font::pitch(SMALL);
                let at = [left - GAP, down];
                g.letter(Lettering::new(
                    at,
                    line.clone(),
                    SMALL,
                    Hold::End,
                    Hand::Note,
                ));
            }
            let share = if bar.share.is_finite() {
                bar.share.clamp(0.0, 1.0)
            } else {
                0.0
            };
            let (a, b) = (middle - THICK / 2.0, middle + THICK / 2.0);
            let right = left + WHOLE * share;
            g.put(
                Some(Pen::Narrow),
                Fill::Tint,
                Shape::poly(&[[left, a], [right, a], [right, b], [left, b]], true),
            );
            let at = [right + GAP, middle + SMALL / 2.0];
            g.letter(Lettering::new(
                at,
                of_percent(share),
                SMALL,
                Hold::Start,
                Hand::Note,
            ));
            y += PITCH + lines.len().saturating_sub(1) as f64 * font::pitch(SMALL);
        }
        g.draw(Pen::Wide, Shape::line([left, top], [left, y]));
        if let Some(first) = group.bars.first() {
            let _ = write!(
                description,
                "{}: most by {}, {}. ",
                group.title,
                first.name,
                of_percent(first.share)
            );
        }
        groups.push(g);
    }
    let extent = groups
        .iter()
        .fold(Rect::new([0.0; 2], [MARGIN; 2]), |r, g| r.join(g.extent()));
    Figure {
        sheet: Sheet {
            size: [extent.max[0] + MARGIN, extent.max[1] + MARGIN],
            title: bars.title.clone(),
            description: description.trim_end().to_owned(),
            groups,
        },
        fields: Vec::new(),
    }
}
