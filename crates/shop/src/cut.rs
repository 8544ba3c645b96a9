//! What is cut from which bar: blanks with kerf and facing, packed on bars of the rack and on lengths that the seller has.

use crate::part::{Form, Part};
use crate::words::Units;
use crate::{nest, turning, words};
use machine::equipment::Shop;
use machine::work::Section;
use quantity::Unit;
use serde::Serialize;

/// A blank to be cut.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Blank {
    /// The part.
    pub part: String,
    /// How many.
    pub count: usize,
    /// Stock, as it is asked for.
    pub stock: String,
    /// Material.
    pub material: String,
    /// Length with facing, and with what the chuck wants, mm.
    pub length: f64,
    /// How many blanks are sawn: several parts may come from one.
    pub blanks: usize,
    /// Mass of one finished part, kg.
    pub mass: f64,
}

/// A bar with what is cut from it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Bar {
    /// Stock.
    pub stock: String,
    /// Material.
    pub material: String,
    /// Its length, mm.
    pub length: f64,
    /// Name in the rack; none: to be bought.
    pub rack: Option<String>,
    /// What is cut from it in order: part and length, mm.
    pub cuts: Vec<(String, f64)>,
    /// What is left, mm.
    pub left: f64,
}

/// A sheet of plate with what is cut from it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Sheet {
    /// Thickness, mm.
    pub thick: f64,
    /// Material.
    pub material: String,
    /// Its size, mm.
    pub size: [f64; 2],
    /// Name in the rack; none: to be bought.
    pub rack: Option<String>,
    /// Blanks on it: part, lower left corner, size as it lies, mm.
    pub cuts: Vec<(String, [f64; 2], [f64; 2])>,
}

impl Sheet {
    /// How much of it its blanks take, as a share of its area.
    pub fn used(&self) -> f64 {
        let blanks: f64 = self.cuts.iter().map(|c| c.2[0] * c.2[1]).sum();
        blanks / (self.size[0] * self.size[1])
    }
}

/// The cut list.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct CutList {
    /// Blanks by part.
    pub blanks: Vec<Blank>,
    /// Bars by stock; those of the rack first.
    pub bars: Vec<Bar>,
    /// Sheets of plate, for blanks of a width that no bar has.
    pub sheets: Vec<Sheet>,
    /// Width of a cut that was counted, mm.
    pub kerf: f64,
    /// Left on each sawn end, mm.
    pub facing: f64,
    /// No packing of a stock with fewer bars or less length to buy exists; `false` where the list was too long to be sure.
    pub proved: bool,
}

/// Kerf of a saw when the shop file has none, mm (common practice).
const KERF: f64 = 1.5;
/// Lengths that sellers cut when the shop file has none, mm (common practice).
const SOLD: [f64; 3] = [500.0, 1000.0, 2000.0];
/// The same where stock is sold by the foot, mm.
const SOLD_INCH: [f64; 4] = [304.8, 609.6, 914.4, 1828.8];
/// What a bought bar's own ends take, mm (common practice).
const END: f64 = 3.0;
/// Most steps of the exact search for one stock.
const PATIENCE: usize = 400_000;

/// A length as it is sawn: the next half millimetre, the next 1/32 of an inch.
pub fn sawn(length: f64, unit: Unit) -> f64 {
    let step = if unit == Unit::Inch { 25.4 / 32.0 } else { 0.5 };
    (length / step - 1e-6).ceil() * step
}

/// The cut list of these parts.
pub fn list(parts: &[Part], shop: Option<&Shop>, units: impl Into<Units>) -> CutList {
    let units = units.into();
    let facing = shop.map_or(1.5, |s| s.tools.facing);
    let kerf = shop.and_then(|s| s.saws.first()).map_or(KERF, |s| s.kerf);
    let sold: Vec<f64> = match shop {
        Some(s) if !s.sold.is_empty() => s.sold.clone(),
        _ if units.first == Unit::Inch => SOLD_INCH.to_vec(),
        _ => SOLD.to_vec(),
    };
    let mut out = CutList {
        kerf,
        facing,
        proved: true,
        ..CutList::default()
    };
    // Stocks in the order in which parts ask for them.
    let mut stocks: Vec<(Section, String)> = Vec::new();
    for part in parts {
        let stock = (part.section, part.material.name.clone());
        let (length, blanks) = match &part.form {
            Form::Turned(t) => {
                let way = turning::way(part, t, shop);
                (way.blank(t, shop), way.blanks(part.count))
            }
            Form::Plate(_) => (blank(part) + 2.0 * facing, part.count),
        };
        out.blanks.push(Blank {
            part: part.name.clone(),
            count: part.count,
            stock: stock_of(part.section, &part.material.name, shop, units),
            material: part.material.name.clone(),
            length: sawn(length, units.first),
            blanks,
            mass: part.mass(),
        });
        if !stocks.contains(&stock) {
            stocks.push(stock);
        }
    }
    out.sheets = sheets(parts, &out.blanks, shop, (kerf, units.first));
    for (section, material) in stocks {
        if from_sheet(section, &material, shop) {
            continue;
        }
        let mut pieces: Vec<(String, f64)> = Vec::new();
        for (part, blank) in parts.iter().zip(&out.blanks) {
            if part.section == section && part.material.name == material {
                pieces.extend((0..blank.blanks).map(|_| (part.name.clone(), blank.length)));
            }
        }
        let mut racked: Vec<(f64, Option<String>)> = Vec::new();
        for bar in shop.map_or(&[][..], |s| s.rack.as_slice()) {
            if bar.section == section && bar.material == material {
                racked.extend((0..bar.count).map(|_| (bar.length, Some(bar.name.clone()))));
            }
        }
        let lengths: Vec<f64> = pieces.iter().map(|p| p.1).collect();
        let have: Vec<f64> = racked.iter().map(|r| r.0).collect();
        // What is bought comes with sawn ends of its own.
        let whole: Vec<f64> = sold.iter().map(|l| l - END).collect();
        let packed = pack(&lengths, &have, &whole, kerf);
        out.proved &= packed.proved;
        for (bar, cuts) in packed.bars {
            let cuts: Vec<(String, f64)> = cuts
                .iter()
                .filter_map(|&i| pieces.get(i).cloned())
                .collect();
            let (length, rack) = match bar {
                From::Rack(i) => racked.get(i).cloned().unwrap_or_default(),
                From::Bought(length) => (length + END, None),
            };
            let used: f64 = cuts.iter().map(|c| c.1 + kerf).sum();
            out.bars.push(Bar {
                stock: words::section(&section, units),
                material: material.clone(),
                length,
                rack,
                cuts,
                left: (length - used).max(0.0),
            });
        }
    }
    out
}

/// What a part is made from, in the words of the cut list, on all papers alike: `plate 12, 150 wide` comes from a sheet, `flat 12 x 60` is a bar.
pub fn stock_of(
    section: Section,
    material: &str,
    shop: Option<&Shop>,
    units: impl Into<Units>,
) -> String {
    let units = units.into();
    match section {
        Section::Flat([t, w]) if from_sheet(section, material, shop) => {
            let (t, w) = (words::length(t, units), words::length(w, units));
            format!("plate {t}, {w} wide")
        }
        _ => words::section(&section, units),
    }
}

/// Narrower blanks come off a wider bar, not out of a sheet, mm.
const NARROW: f64 = 25.0;

/// Whether a blank comes from a sheet: it is of a width in which no flat bar is sold, and none of that width lies in the rack.
pub fn from_sheet(section: Section, material: &str, shop: Option<&Shop>) -> bool {
    let Section::Flat([_, wide]) = section else {
        return false;
    };
    let sold = elements::stock::FLAT_METRIC
        .into_iter()
        .chain(elements::stock::FLAT_INCH.map(|w| w * 25.4))
        .any(|w| (w - wide).abs() < 0.1);
    let racked = shop.is_some_and(|s| {
        s.rack
            .iter()
            .any(|b| b.section == section && b.material == material)
    });
    wide > NARROW && !sold && !racked
}

/// Blanks of plate on sheets, by thickness and material.
fn sheets(
    parts: &[Part],
    blanks: &[Blank],
    shop: Option<&Shop>,
    (kerf, unit): (f64, Unit),
) -> Vec<Sheet> {
    let sold: &[[f64; 2]] = match shop {
        Some(s) if !s.sheets.is_empty() => &s.sheets,
        _ if unit == Unit::Inch => &nest::SOLD_INCH,
        _ => &nest::SOLD,
    };
    let mut kinds: Vec<(f64, &str)> = Vec::new();
    let of_sheet = |p: &Part| match p.section {
        Section::Flat([t, w]) if from_sheet(p.section, &p.material.name, shop) => Some((t, w)),
        _ => None,
    };
    for p in parts {
        if let Some((t, _)) = of_sheet(p)
            && !kinds.contains(&(t, p.material.name.as_str()))
        {
            kinds.push((t, &p.material.name));
        }
    }
    let mut out = Vec::new();
    for (thick, material) in kinds {
        let mut names = Vec::new();
        let mut sizes = Vec::new();
        for (p, blank) in parts.iter().zip(blanks) {
            if let Some((t, w)) = of_sheet(p)
                && t == thick
                && p.material.name == material
            {
                for _ in 0..blank.blanks {
                    names.push(p.name.clone());
                    sizes.push([blank.length, w]);
                }
            }
        }
        let mut rack = Vec::new();
        let mut racked = Vec::new();
        for bar in shop.map_or(&[][..], |s| s.rack.as_slice()) {
            if let Section::Flat([t, w]) = bar.section
                && (t - thick).abs() < 1e-6
                && bar.material == material
                && w > 100.0
            {
                for _ in 0..bar.count {
                    rack.push([bar.length, w]);
                    racked.push(bar.name.clone());
                }
            }
        }
        for sheet in nest::nest(&sizes, &rack, sold, kerf) {
            let cut = |l: &nest::Lies| {
                let name = names.get(l.piece).cloned().unwrap_or_default();
                (name, l.at, l.size)
            };
            out.push(Sheet {
                thick,
                material: material.to_owned(),
                size: sheet.size,
                rack: sheet.rack.and_then(|r| racked.get(r).cloned()),
                cuts: sheet.lies.iter().map(cut).collect(),
            });
        }
    }
    out
}

/// Length of a finished part along its bar, mm; of a plate the longer side (as on its operation sheet).
pub fn blank(part: &Part) -> f64 {
    match &part.form {
        Form::Turned(t) => t.length(),
        Form::Plate(p) => {
            let [low, high] = p.outline.bounds();
            (high[0] - low[0]).max(high[1] - low[1])
        }
    }
}

/// Where a bar comes from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum From {
    /// The rack, by index.
    Rack(usize),
    /// Bought in this length, mm.
    Bought(f64),
}

/// Bars with the pieces cut from them.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Packed {
    /// Bars and the indices of their pieces, longest first.
    pub bars: Vec<(From, Vec<usize>)>,
    /// No better packing exists.
    pub proved: bool,
}

/// Packs lengths on bars: as little bought length as can be, then as few bars, the rack first. Every piece costs one kerf; the last cut of a
/// bar may run off its end. A piece longer than everything sold is bought to measure.
pub fn pack(pieces: &[f64], rack: &[f64], sold: &[f64], kerf: f64) -> Packed {
    let mut order: Vec<usize> = (0..pieces.len()).collect();
    order.sort_by(|&a, &b| pieces[b].total_cmp(&pieces[a]).then(a.cmp(&b)));
    let mut sold = sold.to_vec();
    sold.sort_by(f64::total_cmp);
    sold.dedup();
    let longest = sold.last().copied().unwrap_or(0.0);
    let mut search = Search {
        pieces,
        order: &order,
        sold: &sold,
        kerf,
        longest,
        open: Vec::new(),
        rack: rack.iter().map(|&l| (l, false)).collect(),
        best: None,
        steps: 0,
    };
    search.greedy();
    search.place(0, 0.0);
    let proved = search.steps < PATIENCE;
    let bars = search.best.map_or_else(Vec::new, |b| b.2);
    Packed { bars, proved }
}

/// A bar in use: where from, room left and the pieces on it.
#[derive(Clone)]
struct Open {
    from: From,
    room: f64,
    pieces: Vec<usize>,
}

struct Search<'a> {
    pieces: &'a [f64],
    /// Longest first.
    order: &'a [usize],
    sold: &'a [f64],
    kerf: f64,
    longest: f64,
    open: Vec<Open>,
    /// Length and whether it is in use.
    rack: Vec<(f64, bool)>,
    /// Bought length, count of bars, and the packing.
    best: Option<(f64, usize, Vec<(From, Vec<usize>)>)>,
    steps: usize,
}

impl Search<'_> {
    /// What a packing costs: length bought, then bars.
    fn better(&self, bought: f64, bars: usize) -> bool {
        self.best
            .as_ref()
            .is_none_or(|(b, n, _)| bought < b - 1e-6 || (bought < b + 1e-6 && bars < *n))
    }

    fn keep(&mut self, bought: f64) {
        if self.better(bought, self.open.len()) {
            let bars = self
                .open
                .iter()
                .map(|o| (o.from, o.pieces.clone()))
                .collect();
            self.best = Some((bought, self.open.len(), bars));
        }
    }

    fn fits(&self, room: f64, piece: f64) -> bool {
        piece <= room + 1e-9
    }

    /// First fit, longest first, on the longest bar sold; a first answer to beat.
    fn greedy(&mut self) {
        let mut bought = 0.0;
        for &i in self.order {
            let need = self.pieces[i];
            if let Some(bar) = self.open.iter().position(|b| self.fits(b.room, need)) {
                self.put(bar, i);
                continue;
            }
            let racked = (0..self.rack.len())
                .filter(|&r| !self.rack[r].1 && self.fits(self.rack[r].0, need))
                .min_by(|&a, &b| self.rack[a].0.total_cmp(&self.rack[b].0));
            let (from, length) = match racked {
                Some(r) => {
                    self.rack[r].1 = true;
                    (From::Rack(r), self.rack[r].0)
                }
                None => {
                    let length = if need > self.longest {
                        need
                    } else {
                        self.sold
                            .iter()
                            .copied()
                            .find(|l| *l >= need)
                            .unwrap_or(need)
                    };
                    bought += length;
                    (From::Bought(length), length)
                }
            };
            self.open.push(Open {
                from,
                room: length,
                pieces: Vec::new(),
            });
            self.put(self.open.len() - 1, i);
        }
        self.keep(bought);
        self.open.clear();
        self.rack.iter_mut().for_each(|r| r.1 = false);
    }

    fn put(&mut self, bar: usize, piece: usize) {
        let need = self.pieces[piece] + self.kerf;
        if let Some(bar) = self.open.get_mut(bar) {
            bar.room -= need;
            bar.pieces.push(piece);
        }
    }

    fn take(&mut self, bar: usize, piece: usize) {
        let need = self.pieces[piece] + self.kerf;
        if let Some(bar) = self.open.get_mut(bar) {
            bar.room += need;
            bar.pieces.pop();
        }
    }

    /// Places the piece at this place of the order on every bar it may go to.
    fn place(&mut self, at: usize, bought: f64) {
        self.steps += 1;
        if self.steps >= PATIENCE {
            return;
        }
        let Some(&piece) = self.order.get(at) else {
            self.keep(bought);
            return;
        };
        // What is still to come needs so much more than there is room for.
        let to_come: f64 = self
            .order
            .get(at..)
            .unwrap_or_default()
            .iter()
            .map(|&i| self.pieces[i])
            .sum();
        let free: f64 = self.open.iter().map(|o| o.room.max(0.0)).sum::<f64>()
            + self.rack.iter().filter(|r| !r.1).map(|r| r.0).sum::<f64>();
        let least = bought + (to_come - free).max(0.0);
        if let Some((b, n, _)) = &self.best
            && (least > b + 1e-6 || (least > b - 1e-6 && self.open.len() >= *n))
        {
            return;
        }
        let need = self.pieces[piece];
        let mut tried: Vec<(f64, bool)> = Vec::new();
        for bar in 0..self.open.len() {
            let room = self.open[bar].room;
            // Bars with the same room are one choice.
            let seen = (room, false);
            if !self.fits(room, need) || tried.contains(&seen) {
                continue;
            }
            tried.push(seen);
            self.put(bar, piece);
            self.place(at + 1, bought);
            self.take(bar, piece);
        }
        let mut lengths: Vec<f64> = Vec::new();
        for r in 0..self.rack.len() {
            let (length, used) = self.rack[r];
            if used || !self.fits(length, need) || lengths.contains(&length) {
                continue;
            }
            lengths.push(length);
            self.rack[r].1 = true;
            self.begin(From::Rack(r), length, piece, at, bought);
            self.rack[r].1 = false;
        }
        if need > self.longest {
            self.begin(From::Bought(need), need, piece, at, bought + need);
            return;
        }
        for n in 0..self.sold.len() {
            let length = self.sold[n];
            if length + 1e-9 >= need {
                self.begin(From::Bought(length), length, piece, at, bought + length);
            }
        }
    }

    fn begin(&mut self, from: From, length: f64, piece: usize, at: usize, bought: f64) {
        self.open.push(Open {
            from,
            room: length,
            pieces: Vec::new(),
        });
        self.put(self.open.len() - 1, piece);
        self.place(at + 1, bought);
        self.open.pop();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Least bought length by trying every way of dividing the pieces into groups: nothing clever, so that it is right by looking at it.
    fn brute(pieces: &[f64], rack: &[f64], sold: &[f64], kerf: f64) -> f64 {
        fn divide(rest: &[f64], groups: &mut Vec<Vec<f64>>, each: &mut dyn FnMut(&[Vec<f64>])) {
            let Some((&first, rest)) = rest.split_first() else {
                each(groups);
                return;
            };
            for g in 0..groups.len() {
                groups[g].push(first);
                divide(rest, groups, each);
                groups[g].pop();
            }
            groups.push(vec![first]);
            divide(rest, groups, each);
            groups.pop();
        }
        fn assign(needs: &[f64], rack: &[f64], used: &mut Vec<bool>, sold: &[f64]) -> f64 {
            let Some((&need, rest)) = needs.split_first() else {
                return 0.0;
            };
            let mut best = sold
                .iter()
                .filter(|s| **s + 1e-9 >= need)
                .map(|s| s + assign(rest, rack, &mut used.clone(), sold))
                .fold(f64::INFINITY, f64::min);
            for r in 0..rack.len() {
                if !used[r] && rack[r] + 1e-9 >= need {
                    used[r] = true;
                    best = best.min(assign(rest, rack, used, sold));
                    used[r] = false;
                }
            }
            best
        }
        let mut best = f64::INFINITY;
        divide(pieces, &mut Vec::new(), &mut |groups| {
            // The last cut may run off the end of the bar.
            let needs: Vec<f64> = groups
                .iter()
                .map(|g| g.iter().sum::<f64>() + kerf * (g.len() - 1) as f64)
                .collect();
            best = best.min(assign(&needs, rack, &mut vec![false; rack.len()], sold));
        });
        best
    }

    fn bought(packed: &Packed) -> f64 {
        packed
            .bars
            .iter()
            .map(|b| if let From::Bought(l) = b.0 { l } else { 0.0 })
            .sum()
    }

    #[test]
    fn an_offcut_is_used_before_anything_is_bought() {
        let packed = pack(&[100.0, 90.0], &[200.0], &[500.0], 1.0);
        assert_eq!(packed.bars, [(From::Rack(0), vec![0, 1])]);
        assert!(packed.proved);
        // One kerf too much.
        assert_eq!(
            bought(&pack(&[100.0, 99.5], &[200.0], &[500.0], 1.0)),
            500.0
        );
        // Longer than anything sold.
        assert_eq!(bought(&pack(&[700.0], &[], &[500.0], 1.0)), 700.0);
        assert!(pack(&[], &[100.0], &[500.0], 1.0).bars.is_empty());
    }

    proptest! {
        #[test]
        fn as_good_as_trying_everything(
            pieces in prop::collection::vec(20.0..300.0f64, 1..7),
            rack in prop::collection::vec(100.0..400.0f64, 0..3),
        ) {
            let sold = [300.0, 500.0];
            let packed = pack(&pieces, &rack, &sold, 2.0);
            prop_assert!(packed.proved);
            prop_assert!((bought(&packed) - brute(&pieces, &rack, &sold, 2.0)).abs() < 1e-6);
            let mut all: Vec<usize> = packed.bars.iter().flat_map(|b| b.1.clone()).collect();
            all.sort_unstable();
            prop_assert_eq!(all, (0..pieces.len()).collect::<Vec<_>>());
            for (from, on) in &packed.bars {
                let length = match from { From::Rack(i) => rack[*i], From::Bought(l) => *l };
                let used: f64 = on.iter().map(|&i| pieces[i]).sum::<f64>() + 2.0 * (on.len() - 1) as f64;
                prop_assert!(used <= length + 1e-9);
            }
        }
    }
}
