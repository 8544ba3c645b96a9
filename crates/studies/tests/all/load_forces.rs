//! Forces in joints: every part in equilibrium by itself, and virtual work.

use crate::load_common::{case_of, laden, model, one, row, weighed};
use studies::load::answers::{JointKind, Loads};
use studies::{Model, Stand, readings, standing};

/// Numbers between 0 and 1, the same every time (`SplitMix64`).
fn random(state: &mut u64) -> f64 {
    *state = state.wrapping_add(0x9E37_79B9_7F4A_7C15);
    let mut z = *state;
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
}

/// Sum of forces and moments (about the origin of its plane) on every part.
struct Sums(Vec<[f64; 3]>);

impl Sums {
    fn force(&mut self, part: usize, place: [f64; 2], force: [f64; 2], sign: f64) {
        let sum = &mut self.0[part];
        sum[0] += sign * force[0];
        sum[1] += sign * force[1];
        sum[2] += sign * (place[0] * force[1] - place[1] * force[0]);
    }
}

fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// What the joints of the answer and the loads, taken from the file, do to every part of the laden embosser.
fn sums(model: &Model, stand: &Stand, loads: &Loads) -> Vec<[f64; 3]> {
    let m = model.machine();
    let (_, row) = row(loads);
    let places = standing(model, stand).unwrap();
    let part = |name: &str| m.parts.iter().position(|p| p.name == name);
    let point = |name: &str| m.points.iter().position(|p| p.name == name).unwrap();
    let in_space = |p: usize| -> [f64; 3] {
        let plane = &m.planes[m.points[p].plane];
        let [x, y, z] = places.points[p];
        let (r, u) = (plane.right, plane.up);
        let n = [
            r[1] * u[2] - r[2] * u[1],
            r[2] * u[0] - r[0] * u[2],
            r[0] * u[1] - r[1] * u[0],
        ];
        std::array::from_fn(|i| plane.origin[i] + x * r[i] + y * u[i] + z * n[i])
    };
    let in_plane = |p: usize, v: [f64; 3]| {
        let plane = &m.planes[m.points[p].plane];
        [dot(v, plane.right), dot(v, plane.up)]
    };
    let flat = |p: usize| [places.points[p][0], places.points[p][1]];
    let carrier = |p: usize| {
        m.parts
            .iter()
            .position(|part| part.carries.contains(&p))
            .or(m.rows.iter().find(|r| r.point == p).map(|r| r.on))
            .unwrap()
    };
    let mut sums = Sums(vec![[0.0; 3]; m.parts.len()]);
    for (j, force) in loads.joints.iter().zip(&row.joints) {
        let (on, by) = (part(&j.on), part(&j.by));
        match j.kind {
            JointKind::Pin | JointKind::Slot | JointKind::Slide => {
                let (vector, place) = (force.vector.unwrap(), force.place.unwrap());
                sums.force(on.unwrap(), place, vector, 1.0);
                sums.force(by.unwrap(), place, vector, -1.0);
                sums.0[on.unwrap()][2] += force.couple.unwrap_or(0.0);
                sums.0[by.unwrap()][2] -= force.couple.unwrap_or(0.0);
            }
            JointKind::Rod => {
                let rod = m
                    .rods
                    .iter()
                    .find(|r| j.name == format!("rod {}", r.name))
                    .unwrap();
                let [p, q] = rod.joins;
                let (a, b) = (in_space(p), in_space(q));
                let d: [f64; 3] = std::array::from_fn(|i| b[i] - a[i]);
                let pull = d.map(|x| x / dot(d, d).sqrt() * force.value);
                sums.force(carrier(p), flat(p), in_plane(p, pull), 1.0);
                sums.force(carrier(q), flat(q), in_plane(q, pull), -1.0);
            }
            JointKind::Clamp => {
                sums.0[on.unwrap()][2] += force.value;
                sums.0[by.unwrap()][2] -= force.value;
            }
            JointKind::Drive => {
                let drive = m
                    .drives
                    .iter()
                    .find(|d| j.name == format!("drive {}", d.name))
                    .unwrap();
                sums.0[on.unwrap()][2] += drive.sense * force.value;
            }
            _ => panic!("{j:?}"),
        }
    }
    let acted = |name: &str| {
        row.acted
            .iter()
            .find(|a| a.name == name)
            .map_or(0.0, |a| a.force)
    };
    let die = in_space(point("die"));
    let up = [0.0, 1.0, 0.0];
    sums.force(
        part("ram").unwrap(),
        flat(point("die")),
        in_plane(point("die"), up.map(|u| u * acted("load leather"))),
        1.0,
    );
    // The strap presses the bed straight below the die.
    let below = in_plane(point("anvil"), die);
    sums.force(
        part("bed").unwrap(),
        below,
        in_plane(point("anvil"), up.map(|u| u * acted("load leather"))),
        -1.0,
    );
    sums.0[part("bell-crank").unwrap()][2] += acted("spring turn");
    let (anvil, axis) = (in_space(point("anvil")), in_space(point("shaft-axis")));
    let apart: [f64; 3] = std::array::from_fn(|i| anvil[i] - axis[i]);
    let push = apart.map(|x| x / dot(apart, apart).sqrt() * acted("spring lift"));
    sums.force(
        part("bed").unwrap(),
        flat(point("anvil")),
        in_plane(point("anvil"), push),
        1.0,
    );
    sums.force(
        part("cross-shaft").unwrap(),
        flat(point("shaft-axis")),
        in_plane(point("shaft-axis"), push),
        -1.0,
    );
    if acted("load palm") != 0.0 {
        let turned = places.turns[part("handle-arm").unwrap()] + 200_f64.to_radians();
        let (s, c) = turned.sin_cos();
        sums.force(
            part("handle-arm").unwrap(),
            flat(point("crank-handle")),
            [50.0 * c, 50.0 * s],
            1.0,
        );
        sums.0[part("lever").unwrap()][2] += -1500.0;
    }
    // Weights: half of every bar at each end; a mass that is given lies along the bars.
    let g = 9.806_65;
    let mut weigh = |part: usize, p: usize, kg: f64| {
        sums.force(part, flat(p), in_plane(p, up.map(|u| -u * g * kg)), 1.0);
    };
    let w = &m.work;
    for (i, p) in m.parts.iter().enumerate().skip(1) {
        let per_mm = w.parts[i].stock.as_ref().map_or(0.0, |stock| {
            w.materials[stock.material].density
                * match stock.section {
                    machine::work::Section::Flat([t, b]) => t * b,
                    machine::work::Section::Round(d) => std::f64::consts::PI / 4.0 * d * d,
                    machine::work::Section::Tube([d, e]) => {
                        std::f64::consts::PI / 4.0 * (d * d - e * e)
                    }
                    machine::work::Section::Square(a) => a * a,
                    machine::work::Section::Hexagon(a) => 0.75_f64.sqrt() * a * a,
                }
        });
        // As long as their pieces: 240 mm, 83 mm.
        if let Some(long) = match p.name.as_str() {
            "cross-shaft" => Some(240.0),
            "crank-shaft" => Some(83.0),
            _ => None,
        } {
            weigh(i, p.carries[0], per_mm * long);
            continue;
        }
        let own: Vec<usize> = p
            .carries
            .iter()
            .copied()
            .chain(m.rows.iter().filter(|r| r.on == i).map(|r| r.point))
            .collect();
        let hub = p.clamped_to.map_or(own[0], |s| m.parts[s].carries[0]);
        let own: Vec<usize> = own
            .iter()
            .copied()
            .chain((!own.contains(&hub)).then_some(hub))
            .collect();
        let at = |q: usize| {
            [
                m.points[q].x - m.points[hub].x,
                m.points[q].y - m.points[hub].y,
            ]
        };
        // The shortest bars that join all holes, the shortest of all pairs first (Kruskal).
        let long = |p: usize, q: usize| (at(p)[0] - at(q)[0]).hypot(at(p)[1] - at(q)[1]);
        let mut pairs: Vec<(usize, usize)> = Vec::new();
        for (k, &p) in own.iter().enumerate() {
            pairs.extend(own[k + 1..].iter().map(|&q| (p, q)));
        }
        pairs.sort_by(|a, b| long(a.0, a.1).total_cmp(&long(b.0, b.1)));
        let mut group: Vec<usize> = (0..m.points.len()).collect();
        let mut bars: Vec<(usize, usize)> = Vec::new();
        for (p, q) in pairs {
            if group[p] != group[q] {
                let (from, to) = (group[p], group[q]);
                group
                    .iter_mut()
                    .filter(|g| **g == from)
                    .for_each(|g| *g = to);
                bars.push((p, q));
            }
        }
        let total: f64 = bars.iter().map(|b| long(b.0, b.1)).sum();
        let per_mm = w.parts[i].mass.map_or(per_mm, |kg| kg / total);
        for (p, q) in bars {
            let half = 0.5 * per_mm * long(p, q);
            weigh(i, p, half);
            weigh(i, q, half);
        }
    }
    for (i, rod) in m.rods.iter().enumerate() {
        let Some(stock) = &w.rods[i].stock else {
            continue;
        };
        let machine::work::Section::Round(d) = stock.section else {
            panic!()
        };
        let (a, b) = (in_space(rod.joins[0]), in_space(rod.joins[1]));
        let length = (0..3).map(|k| (b[k] - a[k]).powi(2)).sum::<f64>().sqrt();
        let half =
            0.5 * std::f64::consts::PI / 4.0 * d * d * length * w.materials[stock.material].density;
        for p in rod.joins {
            weigh(carrier(p), p, half);
        }
    }
    sums.0
}

/// Every part of the embosser by itself: all forces and moments on it sum to nothing. Worked out from the answer alone.
#[test]
fn every_part_is_in_equilibrium() {
    let text = laden();
    let model = model(&text);
    let mut state = 11;
    for case in ["embossing", "laden"] {
        let case = case_of(&model, case);
        for _ in 0..20 {
            let set = 70_f64.to_radians() * random(&mut state);
            let crank = std::f64::consts::TAU * random(&mut state);
            let loads = one(&model, &[("set", set), ("crank", crank)], Some(case));
            let mut stand = model.drawn();
            stand.drives = vec![crank, set];
            let sums = sums(&model, &stand, &loads);
            let top = loads.worst.iter().map(|w| w.most).fold(1.0, f64::max);
            for (i, sum) in sums.iter().enumerate().skip(1) {
                let name = &model.machine().parts[i].name;
                for s in &sum[..2] {
                    assert!(
                        s.abs() < 1e-9 * top,
                        "{name} at set {set} crank {crank}: {sum:?}"
                    );
                }
                assert!(
                    sum[2].abs() < 1e-6 * top,
                    "{name} at set {set} crank {crank}: {sum:?}"
                );
            }
        }
    }
}

/// A drive's moment without friction does the work of all loads: `M dθ + Σ F dv = 0`, by differences of the values they act on.
#[test]
fn virtual_work_agrees() {
    let text = laden();
    let model = model(&text);
    let case = case_of(&model, "laden");
    let mut state = 5;
    for _ in 0..12 {
        let place = [
            std::f64::consts::TAU * random(&mut state),
            0.1 + 1.0 * random(&mut state),
        ];
        let loads = one(
            &model,
            &[("crank", place[0]), ("set", place[1])],
            Some(case),
        );
        let (_, now) = row(&loads);
        let gap = |drives: [f64; 2]| {
            let mut stand = model.drawn();
            stand.drives = drives.to_vec();
            readings(&model, &stand)
                .unwrap()
                .iter()
                .find(|r| r.reading.name == "gap")
                .unwrap()
                .value
                .unwrap()
        };
        // The force of the strap follows the stretched gap, but its work is that of the drawn one.
        for drive in 0..2 {
            let h = 1e-5;
            let (mut low, mut high) = (place, place);
            low[drive] -= h;
            high[drive] += h;
            let mut work = 0.0;
            for a in &now.acted {
                let rate = match a.name.as_str() {
                    "load leather" => (gap(high) - gap(low)) / (2.0 * h),
                    "load palm" | "load brake" => continue,
                    _ => {
                        let value = |drives: [f64; 2]| {
                            let l = one(
                                &model,
                                &[("crank", drives[0]), ("set", drives[1])],
                                Some(case),
                            );
                            l.cases[0].rows[0]
                                .acted
                                .iter()
                                .find(|b| b.name == a.name)
                                .unwrap()
                                .value
                        };
                        // The springs' values are told with the stretch of the machine, which changes little over the step.
                        (value(high) - value(low)) / (2.0 * h)
                    }
                };
                work += a.force * rate;
            }
            // The palm follows the crank, square to nothing in particular: its arm is constant.
            if drive == 0 {
                let turned = 200_f64.to_radians();
                let (x, y) = (
                    180.0 * 120_f64.to_radians().cos(),
                    180.0 * 120_f64.to_radians().sin(),
                );
                work += -(x * 50.0 * turned.sin() - y * 50.0 * turned.cos());
            } else {
                work += 1500.0;
            }
            let free = now.drives[drive].free;
            // Weights work too; they are known from the same machine without any other load.
            let weights = weight_moment(place, drive);
            assert!(
                (free + work - weights).abs() < 0.01 * free.abs().max(100.0),
                "drive {drive}: {free} {work} {weights}"
            );
        }
    }
}

/// Moment of the drive against weights alone: all loads less springs and loads, by the answer of a file without them.
fn weight_moment(place: [f64; 2], drive: usize) -> f64 {
    let text = weighed()
        + "\n[load.none]\non = \"crank\"\nmoment = \"0 N m\"\n[case.none]\nloads = [\"none\"]\n";
    let model = model(&text);
    let loads = one(
        &model,
        &[("crank", place[0]), ("set", place[1])],
        Some(case_of(&model, "none")),
    );
    loads.cases[0].rows[0].drives[drive].free
}
