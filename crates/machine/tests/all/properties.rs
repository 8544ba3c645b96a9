//! What holds for every file: constructions are where they say, no text makes the reader panic, every label lies in its file.

use crate::page;
use std::fmt::Write as _;
use std::path::Path;
use std::sync::LazyLock;

use crate::laws::sound;
use machine::{read, read_text, render_all};
use proptest::prelude::*;

/// A way to spoil a text: which line, what is done, and words taken from elsewhere in the text.
#[derive(Clone, Debug)]
enum Spoil {
    DropLine(prop::sample::Index),
    DoubleLine(prop::sample::Index),
    SwapWord(prop::sample::Index, prop::sample::Index),
    Insert(prop::sample::Index, String),
    Cut(prop::sample::Index, usize),
}

fn spoil() -> impl Strategy<Value = Spoil> {
    use prop::sample::Index;
    prop_oneof![
        any::<Index>().prop_map(Spoil::DropLine),
        any::<Index>().prop_map(Spoil::DoubleLine),
        (any::<Index>(), any::<Index>()).prop_map(|(a, b)| Spoil::SwapWord(a, b)),
        (any::<Index>(), "[\\[\\]{}=,.\"'#\\\\a-z0-9é \n-]{1,4}")
            .prop_map(|(at, text)| Spoil::Insert(at, text)),
        (any::<Index>(), 1..40_usize).prop_map(|(at, n)| Spoil::Cut(at, n)),
    ]
}

fn boundary(text: &str, mut at: usize) -> usize {
    at = at.min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

/// Byte ranges of the words of a text.
fn words(text: &str) -> Vec<(usize, usize)> {
    let mut words = Vec::new();
    let mut start = None;
    for (n, c) in text.char_indices().chain([(text.len(), ' ')]) {
        match (c.is_alphanumeric() || c == '-', start) {
            (true, None) => start = Some(n),
            (false, Some(s)) => {
                words.push((s, n));
                start = None;
            }
            _ => {}
        }
    }
    words
}

fn spoilt(mut text: String, spoils: &[Spoil]) -> String {
    for spoil in spoils {
        if text.is_empty() {
            break;
        }
        match spoil {
            Spoil::DropLine(at) | Spoil::DoubleLine(at) => {
                let mut lines: Vec<&str> = text.lines().collect();
                let n = at.index(lines.len().max(1));
                if lines.is_empty() {
                    continue;
                }
                if matches!(spoil, Spoil::DropLine(_)) {
                    lines.remove(n);
                } else {
                    lines.insert(n, lines[n]);
                }
                text = lines.join("\n");
            }
            Spoil::SwapWord(a, b) => {
                let words = words(&text);
                if words.is_empty() {
                    continue;
                }
                let (a, b) = (words[a.index(words.len())], words[b.index(words.len())]);
                let new = text[b.0..b.1].to_owned();
                text.replace_range(a.0..a.1, &new);
            }
            Spoil::Insert(at, what) => {
                let at = boundary(&text, at.index(text.len()));
                text.insert_str(at, what);
            }
            Spoil::Cut(at, n) => {
                let from = boundary(&text, at.index(text.len()));
                let to = boundary(&text, from + n);
                text.replace_range(from..to, "");
            }
        }
    }
    text
}

/// A point whose coordinates are written out.
fn coordinate() -> impl Strategy<Value = f64> {
    (-4000..4000_i32).prop_map(|n| f64::from(n) / 8.0)
}

/// Reads points; `None` when the file has an error.
fn points(text: &str) -> Option<Vec<[f64; 2]>> {
    let found = read_text(
        "x.toml",
        &format!(
            "[point]\n{text}\n[frame]\ncarries = [\"a\"]\n[part.p]\ncarries = [\"a\", \"b\"]\n"
        ),
    );
    sound(&found);
    Some(found.machine?.points.iter().map(|p| [p.x, p.y]).collect())
}

fn apart(a: [f64; 2], b: [f64; 2]) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}

/// Distance of a point from the line through two others.
fn off(p: [f64; 2], a: [f64; 2], b: [f64; 2]) -> f64 {
    let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
    (dx * (p[1] - a[1]) - dy * (p[0] - a[0])).abs() / dx.hypot(dy)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_text_is_answered(text in ".{0,200}") {
        sound(&read_text("x.toml", &text));
    }

    #[test]
    fn any_toml_like_text_is_answered(text in "[\\[\\]{}=,.\"'#\\\\a-f0-9 \n\r\t+-]{0,120}") {
        sound(&read_text("x.toml", &text));
    }

    #[test]
    fn a_spoilt_machine_is_answered(spoils in prop::collection::vec(spoil(), 1..6)) {
        static PAGE: LazyLock<String> = LazyLock::new(page::page);
        sound(&read_text("x.toml", &spoilt(PAGE.clone(), &spoils)));
    }

    #[test]
    fn arcs_meet_where_both_radii_reach(
        a in [coordinate(), coordinate()], b in [coordinate(), coordinate()],
        r in 1..8000_u32, s in 1..8000_u32, take in 0..4_usize,
    ) {
        let (r, s) = (f64::from(r) / 8.0, f64::from(s) / 8.0);
        let word = ["upper", "lower", "left", "right"][take];
        let other = ["lower", "upper", "right", "left"][take];
        let make = |word: &str| points(&format!(
            "a = {a:?}\nb = {b:?}\nc = {{ swing = [[\"a\", {r}], [\"b\", {s}]], take = \"{word}\" }}"
        ));
        let d = apart(a, b);
        match (make(word), make(other)) {
            (Some(one), Some(two)) => {
                let (p, q) = (one[2], two[2]);
                // Near the point where the arcs only touch, half of the figures are lost.
                let near = 1e-6 * (r + s + d);
                prop_assert!((apart(p, a) - r).abs() < near && (apart(p, b) - s).abs() < near);
                let axis = usize::from(take < 2);
                let order = if take == 0 || take == 3 { p[axis] - q[axis] } else { q[axis] - p[axis] };
                prop_assert!(order >= -near);
            }
            (None, None) => {
                let level = (a[1] - b[1]).abs() < 1e-9 || (a[0] - b[0]).abs() < 1e-9;
                prop_assert!(d > r + s - 1e-6 || d < (r - s).abs() + 1e-6 || level, "{d} {r} {s}");
            }
            _ => prop_assert!(false, "one of two crossings is missing"),
        }
    }

    #[test]
    fn lines_give_feet_mirrors_and_crossings(
        a in [coordinate(), coordinate()], b in [coordinate(), coordinate()],
        c in [coordinate(), coordinate()], d in [coordinate(), coordinate()],
        reach in -500.0..500.0_f64, share in -2.0..2.0_f64,
    ) {
        prop_assume!(apart(a, b) > 1.0 && apart(c, d) > 1.0);
        let sine = ((b[0] - a[0]) * (d[1] - c[1]) - (b[1] - a[1]) * (d[0] - c[0])) / (apart(a, b) * apart(c, d));
        let mut text = format!("a = {a:?}\nb = {b:?}\nc = {c:?}\nd = {d:?}\n");
        text.push_str("foot = { foot = \"c\", on = [\"a\", \"b\"] }\n");
        text.push_str("twin = { mirror = \"c\", across = [\"a\", \"b\"] }\n");
        let _ = writeln!(text, "far = {{ on = [\"a\", \"b\"], reach = {reach:?} }}");
        let _ = writeln!(text, "part-way = {{ on = [\"a\", \"b\"], share = {share:?} }}");
        if sine.abs() > 1e-3 {
            text.push_str("cross = { meet = [[\"a\", \"b\"], [\"c\", \"d\"]] }\n");
        }
        let p = points(&text).unwrap();
        let near = 1e-8;
        let (foot, twin, far, part_way) = (p[4], p[5], p[6], p[7]);
        prop_assert!(off(foot, a, b) < near);
        prop_assert!((apart(foot, c) - off(c, a, b)).abs() < near);
        prop_assert!((off(twin, a, b) - off(c, a, b)).abs() < near);
        prop_assert!(apart([f64::midpoint(twin[0], c[0]), f64::midpoint(twin[1], c[1])], foot) < near);
        prop_assert!(off(far, a, b) < near && (apart(far, a) - reach.abs()).abs() < near);
        prop_assert!(apart(part_way, [a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])]) < near);
        if let Some(&cross) = p.get(8) {
            let scale = 1e-9 * (1.0 + cross[0].abs() + cross[1].abs()) / sine.abs();
            prop_assert!(off(cross, a, b) < scale.max(1e-6) && off(cross, c, d) < scale.max(1e-6));
        }
    }

    #[test]
    fn reaches_and_bolt_circles_keep_their_radius(
        a in [coordinate(), coordinate()], reach in 0.5..900.0_f64, angle in -720.0..720.0_f64, count in 1..40_u32,
    ) {
        let mut text = format!("a = {a:?}\nb = {{ from = \"a\", reach = {reach:?}, angle = {angle:?} }}\n");
        for n in 1..=count {
            let _ = writeln!(text, "c{n} = {{ circle = \"a\", radius = {reach:?}, count = {count}, number = {n}, first = {angle:?} }}");
        }
        let p = points(&text).unwrap();
        let near = 1e-9 * (1.0 + reach + a[0].abs() + a[1].abs());
        for q in &p[1..] {
            prop_assert!((apart(*q, a) - reach).abs() < near);
        }
        let chord = 2.0 * reach * (std::f64::consts::PI / f64::from(count)).sin();
        for pair in p[2..].windows(2) {
            prop_assert!((apart(pair[0], pair[1]) - chord).abs() < near * 10.0);
        }
        prop_assert!(apart(p[1], p[2]) < near);
    }

    #[test]
    fn a_point_and_its_twin_in_another_plane_are_one_place(
        at in [coordinate(), coordinate()], station in coordinate(), origin in [coordinate(), coordinate(), coordinate()],
        right in [-1.0..1.0_f64, -1.0..1.0_f64, -1.0..1.0_f64], other in [-1.0..1.0_f64, -1.0..1.0_f64, -1.0..1.0_f64],
    ) {
        // `up` square to `right` out of any second direction.
        let dot = |a: [f64; 3], b: [f64; 3]| a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
        prop_assume!(dot(right, right) > 0.05);
        let s = dot(right, other) / dot(right, right);
        let up: [f64; 3] = std::array::from_fn(|i| other[i] - s * right[i]);
        prop_assume!(dot(up, up) > 0.05);
        let text = format!(
            "[plane.side]\norigin = {origin:?}\nright = {right:?}\nup = {up:?}\n[point]\na = {{ at = {at:?}, station = {station:?} }}\n\
             b = [1000, 1000]\ntwin = {{ project = \"a\", plane = \"side\" }}\nback = {{ project = \"twin\", plane = \"front\" }}\n\
             [frame]\ncarries = [\"a\"]\n[part.p]\ncarries = [\"a\", \"b\"]\n"
        );
        let found = read_text("x.toml", &text);
        sound(&found);
        let m = found.machine.unwrap_or_else(|| panic!("{}", render_all(&found.problems, &found.sources, false)));
        let back = &m.points[3];
        prop_assert!((back.x - at[0]).abs() < 1e-9 && (back.y - at[1]).abs() < 1e-9 && (back.station - station).abs() < 1e-9);
        // The same place in space.
        let (plane, twin) = (&m.planes[1], &m.points[2]);
        let n = [
            plane.right[1] * plane.up[2] - plane.right[2] * plane.up[1],
            plane.right[2] * plane.up[0] - plane.right[0] * plane.up[2],
            plane.right[0] * plane.up[1] - plane.right[1] * plane.up[0],
        ];
        let space: [f64; 3] = std::array::from_fn(|i| plane.origin[i] + twin.x * plane.right[i] + twin.y * plane.up[i] + twin.station * n[i]);
        prop_assert!((space[0] - at[0]).abs() < 1e-9 && (space[1] - at[1]).abs() < 1e-9 && (space[2] - station).abs() < 1e-9);
    }

    #[test]
    fn the_order_of_points_does_not_matter(order in Just((0..8_usize).collect::<Vec<_>>()).prop_shuffle()) {
        let lines = [
            "a = [0, 0]",
            "b = { from = \"a\", by = [70, 10] }",
            "c = { swing = [[\"a\", 50], [\"b\", 60]], take = \"upper\" }",
            "d = { foot = \"c\", on = [\"a\", \"b\"] }",
            "e = { mirror = \"d\", across = [\"c\", \"b\"] }",
            "f = { meet = [[\"a\", \"e\"], [\"c\", \"b\"]] }",
            "g = { on = [\"f\", \"e\"], share = 0.25 }",
            "h = { circle = \"g\", radius = 5, count = 7, number = 3 }",
        ];
        let straight = points(&lines.join("\n")).unwrap();
        let shuffled: Vec<&str> = order.iter().map(|&n| lines[n]).collect();
        let found = points(&shuffled.join("\n")).unwrap();
        for (place, &n) in order.iter().enumerate() {
            prop_assert_eq!(found[place], straight[n]);
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 100, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_bytes_are_answered(bytes in prop::collection::vec(any::<u8>(), 0..300)) {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("x.toml");
        std::fs::write(&path, &bytes).unwrap();
        sound(&read(&path));
    }
}

#[test]
fn the_corpus_and_all_bad_files_are_answered() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let mut count = 0;
    for folder in ["fuzz/corpus/machine_file", "tests/bad-files"] {
        for entry in std::fs::read_dir(root.join(folder)).unwrap() {
            let path = entry.unwrap().path();
            if path.is_file() {
                sound(&read(&path));
                let text = String::from_utf8_lossy(&std::fs::read(&path).unwrap()).into_owned();
                sound(&read_text("x.toml", &text));
                // Cut off anywhere, a file is still answered.
                for part in 1..8 {
                    sound(&read_text(
                        "x.toml",
                        &text[..boundary(&text, text.len() * part / 8)],
                    ));
                }
                count += 1;
            }
        }
    }
    assert!(count > 150, "{count}");
}
