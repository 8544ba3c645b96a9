//! The drill before the tap: one answer for operations, cutting data and tables.

use elements::cutting::ream_stock;
use elements::threads::{metric, tap, unified};
use machine::equipment::Shop;
use machine::fitting::{Cut, Fitted};
use quantity::Thread;

/// A drill for a thread.
#[derive(Clone, Debug, PartialEq)]
pub struct TapDrill {
    /// Its name in the shop, else its diameter.
    pub name: String,
    /// Diameter, mm.
    pub diameter: f64,
    /// The shop has it; without a shop every usual drill is there.
    pub there: bool,
}

/// The drill of this shop that leaves the usual share of thread; where it has none, major diameter less pitch to the next tenth.
pub fn for_thread(thread: &Thread, shop: Option<&Shop>) -> TapDrill {
    let drills = shop.map_or(&[][..], |s| s.tools.drills.as_slice());
    let all: Vec<f64> = drills.iter().map(|d| d.diameter).collect();
    let limits = if thread.inch {
        unified::limits(thread.major, thread.pitch, thread.major).ok()
    } else {
        metric::limits(thread.major, thread.pitch).ok()
    };
    // The same drill as the study of parts names.
    let best = tap::usual(thread.major, thread.pitch, &all, limits.as_ref());
    if let Some(found) = best.and_then(|best| drills.get(best.index)) {
        return TapDrill {
            name: found.name.clone(),
            diameter: found.diameter,
            there: true,
        };
    }
    let diameter = ((thread.major - thread.pitch) * 10.0).round() / 10.0;
    TapDrill {
        name: crate::words::number(diameter, 1),
        diameter,
        there: shop.is_none(),
    }
}

/// The last drill before a hole is finished, mm, and how it is finished: `tap`, `ream`, `bore`, empty where the drill is all.
pub fn before(fitted: &Fitted, shop: Option<&Shop>) -> (f64, &'static str) {
    let size = fitted.across();
    // What is left for the tool that finishes it (a millimetre for boring, common practice).
    let (under, how) = match (fitted, crate::part::cut(fitted)) {
        (Fitted::Tapped { thread, .. }, _) => return (for_thread(thread, shop).diameter, "tap"),
        (_, Some(Cut::Ream)) => (ream_stock(size).map_or(0.25, |s| s.0), "ream"),
        (_, Some(Cut::Bore)) => (1.0, "bore"),
        _ => return (size, ""),
    };
    let most = size - under;
    let drills = shop.map_or(&[][..], |s| s.tools.drills.as_slice());
    let there = drills.iter().map(|d| d.diameter);
    let there = there.filter(|d| *d <= most + 1e-6).reduce(f64::max);
    let usual = match how {
        "ream" => before_reamer(size),
        _ => (most * 10.0).floor() / 10.0,
    };
    (there.unwrap_or(usual), how)
}

/// The drill before a reamer where every tenth of a millimetre is there: what leaves it the most that it takes well.
pub(crate) fn before_reamer(size: f64) -> f64 {
    let most = ream_stock(size).map_or(0.3, |s| s.1);
    ((size - most) * 10.0).ceil() / 10.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn without_a_shop_it_is_major_less_pitch() {
        // ISO 2306: 5, 6.8 (6.75), 8.5, 10.2 (10.25); here the nearest tenth.
        for (name, d) in [("M6", 5.0), ("M8", 6.8), ("M10", 8.5), ("M8x1", 7.0)] {
            let thread = quantity::thread::parse(name).unwrap();
            let found = for_thread(&thread, None);
            assert!(
                found.there && (found.diameter - d).abs() < 0.06,
                "{found:?}"
            );
        }
    }
}
