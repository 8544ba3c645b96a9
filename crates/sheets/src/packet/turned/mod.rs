//! The drawing of a turned part: seen from the side, lengths from the left face, diameters above, each written out.

mod end;
mod profile;
mod section;
mod sizes;

use super::dims::View;
use super::plate::notes;
use super::taken::Taken;
use crate::geometry::{P, Rect};
use crate::scale::Scale;
use crate::sheet::{Group, Pen, Shape};
use machine::work::Section;
use shop::gears::Teeth;
use shop::joined::{Joined, What};
use shop::part::{Bore, Opening as _, Part, Step, Turned};
use shop::words::Units;
use std::f64::consts::{FRAC_PI_2, PI};

/// The direction that stands upward on the paper: the first throw's; without one the first hole across looks at the reader, or the first flat,
/// whose direction is 0; a square or hexagon stands on a corner.
fn upward(t: &Turned) -> f64 {
    let throws = t.steps.iter().map(|s| s.throw);
    let bores = t.bores.iter().map(|b| b.throw);
    let thrown = throws.chain(bores).flatten().next().map(|x| x[1]);
    let across = t.cross.first().map(|c| c.from - FRAC_PI_2);
    let flat = t.flats.first().map(|_| -FRAC_PI_2);
    let sided = t.steps.iter().find(|s| s.sides > 0);
    let corner = sided.map(|s| PI / s.sides as f64);
    thrown.or(across).or(flat).or(corner).unwrap_or(0.0)
}

/// Keyways that are cut into a shaft.
fn keyways(joined: &[Joined]) -> impl Iterator<Item = (&Joined, &shop::joined::Keyway)> {
    joined
        .iter()
        .filter(|j| j.in_shaft)
        .filter_map(|j| match &j.what {
            What::Key(k) => Some((j, k)),
            _ => None,
        })
}

/// How far something off the axis lies above it on the paper, mm of the part.
fn raised(t: &Turned, throw: Option<[f64; 2]>) -> f64 {
    throw.map_or(0.0, |[e, angle]| e * (angle - upward(t)).cos())
}

/// How far a step's axis lies above the part's on the paper, mm of the part.
fn lift(t: &Turned, s: &Step) -> f64 {
    raised(t, s.throw)
}

/// Directions about the axis that cannot be read off the side view ask for a view of the right end.
fn has_end_view(t: &Turned, joined: &[Joined]) -> bool {
    let seats = keyways(joined).count();
    let sided = t.steps.iter().any(|s| s.sides > 0);
    !t.flats.is_empty() && (sided || t.flats.len() > 1 || t.flats.iter().any(|f| f.sides < 3))
        || t.steps.iter().any(|s| s.throw.is_some())
        || t.bores.iter().any(|b| b.throw.is_some())
        || t.cross.len() + seats > 1
        || (t.cross.len() + seats > 0 && (!t.flats.is_empty() || sided))
}

/// Most height of the turned shape itself on the paper, mm; smaller ones in turn where that saves a sheet.
pub(in crate::packet) const TALLEST: [f64; 6] = [70.0, 56.0, 44.0, 33.0, 25.0, 16.0];
/// And where it is to share a sheet.
pub(in crate::packet) const LEAST: f64 = 33.0;
/// Nothing is drawn larger than this.
const MOST: f64 = 2.0;

/// Shorter than this on the paper nothing is drawn that goes larger, mm; none smaller than it is, either.
const READABLE: f64 = 90.0;

/// The scale of the part across `wide` when its shape is so tall at most, and whether it is as large as is easily read.
pub(in crate::packet) fn scale(
    t: &Turned,
    joined: &[Joined],
    wide: f64,
    tallest: f64,
) -> (Scale, bool) {
    let tall = height(t);
    let long = t.length();
    let (round, beside) = if has_end_view(t, joined) {
        (1.0, 2.0 * AROUND)
    } else {
        (0.0, 0.0)
    };
    let most = (wide - 30.0 - beside) / (long + round * tall);
    let scale = |tallest: f64| Scale::at_most(most.min(tallest / tall).min(MOST));
    let own = scale(tallest);
    let wanted = scale(TALLEST[0]).factor().min(1.0).min(READABLE / long);
    (own, own.factor() >= wanted)
}

/// Height of its shape, throws and all, mm.
fn height(t: &Turned) -> f64 {
    let each = t.steps.iter();
    each.map(|s| s.diameter + 2.0 * lift(t, s).abs())
        .fold(1.0, f64::max)
}

/// The part seen from the side, its top at `at`, across `wide`: what is drawn, how far down it reaches, its scale, how
/// much is in the way of what tells its bores.
pub(in crate::packet) fn figure(
    (t, joined, teeth): (&Turned, &[Joined], Option<&Teeth>),
    at: P,
    wide: f64,
    tallest: f64,
    (units, third): (Units, bool),
) -> (Group, f64, Scale, f64) {
    let long = t.length();
    let tall = height(t);
    let end_view = has_end_view(t, joined);
    // The right end stands to the left of the side (first-angle) or to the right (third-angle), with room for the directions round it.
    let (round, beside) = if end_view {
        (1.0, 2.0 * AROUND)
    } else {
        (0.0, 0.0)
    };
    let (scale, _) = scale(t, joined, wide, tallest);
    let k = scale.factor();
    let taken_up = beside + round * k * tall;
    let [left, right] = if third {
        [at[0], at[0] + wide - taken_up]
    } else {
        [at[0] + taken_up, at[0] + wide]
    };
    let x0 = left + (right - left - k * long) / 2.0;
    let drawn = |axis: f64| {
        let v = View {
            origin: [x0, axis],
            k,
        };
        let mut body = Group::new("part");
        body.shift = v.origin;
        let own = v.own();
        let keyed = keyways(joined).next().is_some();
        let cut = section::section(&mut body, t, keyed, own);
        if !cut {
            profile::profile(&mut body, t, joined, own);
        }
        if let Some(teeth) = teeth {
            section::teeth(&mut body, t, teeth, cut, own);
        }
        body.draw(Pen::Chain, Shape::line([-5.0, 0.0], [k * long + 5.0, 0.0]));
        if !cut {
            section::bores(&mut body, t, own);
        }
        let mut g = Group::new("turned");
        g.groups.push(body);
        let top = axis - k * tall / 2.0;
        let mut taken = Taken::within(Rect::new(
            [at[0], axis - 200.0],
            [at[0] + wide, axis + 250.0],
        ));
        taken.group(&g);
        // Diameters above, lengths below.
        let [middle, foot] = [axis, axis + 250.0];
        taken.keep(Rect::new([left, axis - 200.0], [right, middle]));
        sizes::diameters(&mut g, &mut taken, t, v, (top, [left, right]), units);
        taken.keep(Rect::new([at[0], axis - 200.0], [at[0] + wide, foot]));
        let mut low = sizes::lengths(
            &mut g,
            &mut taken,
            (t, joined),
            v,
            axis + k * tall / 2.0,
            units,
        );
        let crowded = sizes::bores(&mut g, &mut taken, (t, keyed), v, units);
        low = low.max(g.extent().max[1]);
        if end_view {
            let middle = if third { right } else { at[0] } + AROUND + k * tall / 2.0;
            let centre = [middle, axis];
            let v = View { origin: centre, k };
            end::end(&mut g, &mut taken, (t, joined), v);
            low = low.max(axis + k * tall / 2.0 + AROUND);
        }
        (g, low, crowded)
    };
    // Drawn once to see how far its lettering stands up.
    let up = -drawn(0.0).0.extent().min[1];
    let (g, low, crowded) = drawn(at[1] + up + 2.0);
    (g, low + 3.0, scale, crowded)
}

/// Room round the view of an end for its directions, mm.
const AROUND: f64 = 18.0;

/// The inside of a tube, mm.
fn inside(part: &Part) -> Option<f64> {
    match part.section {
        Section::Tube([_, inside]) => Some(inside),
        _ => None,
    }
}

/// The same as it is drawn: a tube with its inside as a bore that goes through.
pub(in crate::packet) fn hollow(part: &Part, t: &Turned) -> Turned {
    let mut drawn = t.clone();
    let larger = |d: f64| {
        t.bores
            .iter()
            .any(|b| b.blind.is_none() && b.diameter() > d)
    };
    if let Some(d) = inside(part).filter(|d| !larger(*d)) {
        drawn.bores.extend(Bore::of_tube(d));
    }
    drawn
}

/// What is said beside the figure.
pub(in crate::packet) fn words_of(part: &Part, t: &Turned, units: Units) -> Vec<String> {
    let keyed = keyways(&part.joined).next().is_some();
    let mut all = sizes::features((t, keyed), inside(part), units);
    all.extend(notes(part, units));
    all
}
