//! Cams as parts to make: the outline that is cut, the dials of the rotary table and the table of roller and cutter are one shape.

use shop::cams::CamCut;
use shop::contour::{Contour, P, Side};
use shop::part::Form;
use std::path::Path;
use studies::cams::{shapes, table};

fn made(example: &str, part: &str) -> (studies::Model, shop::Part, CamCut) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../examples")
        .join(example);
    let machine = machine::read(&path).machine.unwrap();
    let model = studies::assemble(&machine);
    let job = shop::job(&machine, &shapes(&model));
    let part = job.parts.into_iter().find(|p| p.name == part).unwrap();
    let Form::Plate(plate) = &part.form else {
        panic!("a cam is cut from plate")
    };
    let cam = plate.cams[0].clone();
    (model, part, cam)
}

/// Distance of a place from an outline.
fn off(c: &Contour, at: P) -> f64 {
    let one = |s: &Side| match *s {
        Side::Line { from, to } => (from[0] - at[0])
            .hypot(from[1] - at[1])
            .min((to[0] - at[0]).hypot(to[1] - at[1])),
        Side::Arc {
            centre,
            radius,
            from,
            sweep,
        } => {
            let d = [at[0] - centre[0], at[1] - centre[1]];
            let angle = d[1].atan2(d[0]);
            let along = if sweep > 0.0 {
                angle - from
            } else {
                from - angle
            }
            .rem_euclid(std::f64::consts::TAU);
            if along <= sweep.abs() + 1e-4 {
                (d[0].hypot(d[1]) - radius).abs()
            } else {
                f64::INFINITY
            }
        }
    };
    c.sides().iter().map(one).fold(f64::INFINITY, f64::min)
}

fn placed(cam: &CamCut, [out, aside]: P) -> P {
    let (s, c) = cam.reference.sin_cos();
    [
        cam.centre[0] + c * out - s * aside,
        cam.centre[1] + s * out + c * aside,
    ]
}

#[test]
fn arcs_run_where_the_table_says() {
    for (example, part) in [
        ("power-hacksaw/machine.toml", "relief"),
        ("strap-embosser/powered.toml", "wheel"),
    ] {
        let (model, _, cam) = made(example, part);
        // Lines that fall between the nodes of the arcs.
        let fine = table(&model, 0, Some(cam.cutter), 0.31_f64.to_radians()).unwrap();
        let (mut flank, mut path, mut cutter, mut outer) = (0.0_f64, 0.0_f64, 0.0_f64, 0.0_f64);
        for row in &fine.rows {
            flank = flank.max(off(&cam.flank, placed(&cam, row.flank)));
            path = path.max(off(&cam.path, placed(&cam, row.roller)));
            cutter = cutter.max(off(&cam.cutter_path, placed(&cam, row.cutter)));
            if let (Some(line), Some(at)) = (&cam.outer_path, row.outer_cutter) {
                outer = outer.max(off(line, placed(&cam, at)));
            }
        }
        assert!(
            flank < 5e-4 && path < 5e-4 && cutter < 5e-4 && outer < 5e-4,
            "{example}: {flank} {path} {cutter} {outer}"
        );
        // The area by the trapezoids of a fine table (shoelace), against arcs.
        let n = fine.rows.len();
        let shoelace: f64 = (0..n)
            .map(|i| {
                let (a, b) = (fine.rows[i].roller, fine.rows[(i + 1) % n].roller);
                0.5 * (a[0] * b[1] - a[1] * b[0])
            })
            .sum();
        assert!(
            (shoelace.abs() - cam.path.area()).abs() < 1e-4 * cam.path.area(),
            "{shoelace} {}",
            cam.path.area()
        );
    }
}

#[test]
fn dials_put_the_cutter_on_its_path() {
    for (example, part) in [
        ("power-hacksaw/machine.toml", "relief"),
        ("strap-embosser/powered.toml", "wheel"),
    ] {
        let (_, _, cam) = made(example, part);
        let outer = cam.outer_dials.iter().zip(&cam.outer_path);
        for (dials, path) in cam
            .dials
            .iter()
            .zip(std::iter::once(&cam.cutter_path))
            .chain(outer)
        {
            assert!(dials.len() > 50);
            for d in dials {
                for angle in [d.from, d.to] {
                    let at = shop::contour::polar(cam.centre, d.off, cam.ray(angle));
                    assert!(off(path, at) < 6e-4, "{example} {d:?} {}", off(path, at));
                }
            }
        }
    }
}

#[test]
fn the_outline_is_the_one_that_is_drawn_and_cleared() {
    // The picture of the machine traces the flank place by place, in the plane; the plate has it in its own axes.
    let (model, part, cam) = made("power-hacksaw/machine.toml", "relief");
    let Form::Plate(plate) = &part.form else {
        panic!()
    };
    assert_eq!(plate.outline, cam.flank);
    let standing = studies::standing(&model, &model.drawn()).unwrap();
    let drawn = &standing.outlines[0];
    let machine = model.machine();
    let centre = &machine.points[machine.cams[0].centre];
    let turn = cam.drawn - cam.reference;
    let (s, c) = turn.sin_cos();
    for p in &drawn.lines[0] {
        let (x, y) = (p[0] - centre.x, p[1] - centre.y);
        let own = [cam.centre[0] + c * x + s * y, cam.centre[1] + c * y - s * x];
        assert!(off(&cam.flank, own) < 5e-4, "{own:?}");
    }
    // Without its cam the disc would be as wide as its stock; with it, it is what the roller leaves.
    assert!(part.volume() < 0.9 * std::f64::consts::FRAC_PI_4 * 160.0_f64.powi(2) * 10.0);
}

#[test]
fn a_track_takes_its_metal_out_of_the_face() {
    let (_, part, cam) = made("strap-embosser/powered.toml", "wheel");
    let Form::Plate(plate) = &part.form else {
        panic!()
    };
    // Two offsets of one closed curve enclose its length times their distance (Steiner).
    let long: f64 = cam.path.sides().iter().map(Side::length).sum();
    let outer = cam.outer.as_ref().unwrap();
    let ring = outer.area() - cam.flank.area();
    // [joint.stroke] asks for 0.05 of play.
    let wide = cam.roller + 0.05;
    assert!(
        (ring - long * wide).abs() < 1e-4 * ring,
        "{ring} {}",
        long * wide
    );
    // Its bore is ⌀25, all through.
    let bore = std::f64::consts::PI / 4.0 * 25.0 * 25.0;
    let solid = (plate.outline.area() - bore) * plate.thickness;
    assert!((solid - part.volume() - ring * 15.0).abs() < 1.0);
}

#[test]
fn a_cam_without_a_bore_is_told() {
    let (model, mut part, cam) = made("power-hacksaw/machine.toml", "relief");
    let _ = model;
    let told = |part: &shop::Part| {
        let bench = shop::ops::Bench {
            shop: None,
            vises: &[],
            unit: quantity::Unit::Millimetre,
            drawn: quantity::Unit::Millimetre,
        };
        let (sheet, findings) = shop::ops::sheet(part, &bench);
        let flank = sheet.setups.iter().any(|s| s.title.contains("the cam"));
        let bore = findings.iter().any(|f| f.text.contains("has no bore"));
        (flank, bore)
    };
    assert_eq!(told(&part), (true, false));
    if let Form::Plate(plate) = &mut part.form {
        let far = |at: P| (at[0] - cam.centre[0]).hypot(at[1] - cam.centre[1]);
        plate.holes.retain(|h| far(h.at) > 1e-6);
    }
    // It lies on nothing then, and no step claims that it does.
    assert_eq!(told(&part), (false, true));
}
