//! Cases from outside the project with their sources, and how the project answers them. Knows `motion.json`, `load.json` and the mechanics crate.
//!
//! A case names a machine, what is given and what is expected. [`answer`] builds that machine as it would be drawn, lets a
//! [`Solver`] bring it where the case asks, and returns named results; [`disagreements`] compares them. The same list is put to
//! every solver.

mod case;
mod curves;
mod draft;
mod fourbar;
mod gears;
mod grashof;
mod index;
mod mobility;
mod quickreturn;
mod sixbar;
mod slidercrank;
mod solver;
mod spatial;
mod squeezer;
mod tolerance;

pub use case::{Answers, Case, Confidence, Given, disagreements, read_cases};
pub use index::{Entry, index, of_cases, of_list};
pub use solver::{Dense, Planned, Solver};

/// The cases, as they stand in `checks/motion.json`.
pub const MOTION: &str = include_str!("../motion.json");

/// Cases of force, holding, stretch, play and spread, as they stand in `checks/load.json`; answered from machine files in the tests.
pub const LOAD: &str = include_str!("../load.json");

/// Results of the machine of a case, by name, with `solver` doing the moving.
///
/// # Errors
/// Why the machine could not be built or brought there; or that no machine of that name is known.
pub fn answer(case: &Case, solver: &dyn Solver) -> Result<Answers, String> {
    let g = &case.given;
    match case.machine.as_str() {
        "squeezer" => squeezer::position(g, solver),
        "squeezer-rates" => squeezer::rates(g, solver),
        "squeezer-spring" => squeezer::spring(g, solver),
        "slider-crank" => slidercrank::position(g, solver),
        "slider-crank-limits" => slidercrank::limits(g),
        "four-bar" => fourbar::position(g, solver),
        "four-bar-limits" => fourbar::limits(g),
        "four-bar-dead-centres" => fourbar::dead_centres(g),
        "four-bar-sensitivities" => tolerance::four_bar_sensitivities(g, solver),
        "four-bar-spread" => tolerance::four_bar_spread(g, solver),
        "four-bar-corners" => tolerance::four_bar_corners(g, solver),
        "clutch" => tolerance::clutch(g, solver),
        "grashof" => grashof::class(g),
        "quick-return" => quickreturn::limits(g),
        "quick-return-lever" => quickreturn::lever(g, solver),
        "whitworth" => quickreturn::whitworth(g),
        "slotted-lever" => quickreturn::slotted_lever(g, solver),
        "geneva" => quickreturn::geneva(g, solver),
        "watt-six-bar" => sixbar::watt(g, solver),
        "stephenson-six-bar" => sixbar::stephenson(g, solver),
        "stephenson-six-bar-backwards" => sixbar::stephenson_backwards(g, solver),
        "peaucellier" => curves::peaucellier(g, solver),
        "watt-curve" => curves::watt_curve(g, solver),
        "pantograph" => curves::pantograph(g, solver),
        "scotch-yoke" => curves::scotch_yoke(g, solver),
        "trammel" => curves::trammel(g, solver),
        "oldham" => curves::oldham(g, solver),
        "rssr" => spatial::rssr(g, solver),
        "hooke" => spatial::hooke(g, solver),
        "hooke-twice" => spatial::hooke_twice(g, solver),
        "chain" => spatial::chain(g, solver),
        "chain-sensitivities" => spatial::chain_sensitivities(g, solver),
        "chain-effort" => spatial::chain_effort(g, solver),
        "chain-stack" => spatial::chain_stack(g, solver),
        "epicyclic" => gears::epicyclic(g, solver),
        "epicyclic-pair" => gears::epicyclic_pair(g, solver),
        "cardan-gears" => gears::cardan(g, solver),
        "rack" => gears::rack(g, solver),
        "gear-train" => gears::train(g, solver),
        "mobility" => mobility::mobility(g),
        other => Err(format!("no machine is called {other}")),
    }
}
