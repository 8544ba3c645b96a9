//! A question that nobody waits for any more ends soon; one that is waited for is answered as ever.

use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use studies::load::{LoadRequest, load};
use studies::spread::{Request, spread_watched};
use studies::{Model, Sweep, assemble, check, motion};

fn embosser() -> Model {
    let file = "../../examples/strap-embosser/machine.toml";
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join(file);
    assemble(&machine::read(&file).machine.unwrap())
}

fn sweep() -> Sweep {
    Sweep {
        drive: 1,
        from: None,
        to: None,
        step: None,
        readings: Vec::new(),
    }
}

#[test]
fn whoever_waits_gets_the_same_answer() {
    let plain = embosser();
    let watched = plain.until(&Arc::new(AtomicBool::new(false)));
    assert_eq!(check(&plain), check(&watched));
    let stand = plain.drawn();
    assert_eq!(
        motion(&plain, &stand, &sweep()).unwrap(),
        motion(&watched, &stand, &sweep()).unwrap()
    );
}

#[test]
fn what_nobody_waits_for_is_refused() {
    let unwanted = Arc::new(AtomicBool::new(false));
    let model = embosser().until(&unwanted);
    unwanted.store(true, Ordering::Relaxed);
    let stand = model.drawn();
    assert!(motion(&model, &stand, &sweep()).is_err());
    assert!(load(&model, &stand, &LoadRequest::default()).is_err());
    let request = Request {
        machines: 100_000_000,
        ..Request::default()
    };
    let begun = std::time::Instant::now();
    assert!(spread_watched(&model, &stand, &request, &model.watch()).is_err());
    // It is worth nothing, but it ends.
    let _ = check(&model);
    assert!(begun.elapsed().as_secs() < 20, "{:?}", begun.elapsed());
}
