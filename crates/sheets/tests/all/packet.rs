//! The packet read back: sizes, bars, outlines and bytes.

use machine::Machine;
use machine::fitting::Fitted;
use sheets::{Leaf, packet, part_sheet};
use shop::contour::Side;
use shop::part::{Form, Opening as _};
use shop::{Job, job};
use std::collections::BTreeMap;
use std::io::Read as _;
use std::path::Path;

fn of(example: &str) -> (Machine, Job) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../examples")
        .join(example)
        .join("machine.toml");
    let machine = machine::read(&path).machine.unwrap();
    let job = job(&machine, &[]);
    (machine, job)
}

/// The streams of a PDF, inflated.
fn streams(pdf: &[u8]) -> Vec<String> {
    let find = |from: usize, what: &[u8]| {
        pdf[from..]
            .windows(what.len())
            .position(|w| w == what)
            .map(|i| i + from)
    };
    let mut all = Vec::new();
    let mut at = 0;
    while let Some(begin) = find(at, b"stream\n") {
        let begin = begin + 7;
        let Some(end) = find(begin, b"endstream") else {
            break;
        };
        let mut text = Vec::new();
        if flate2::read::ZlibDecoder::new(&pdf[begin..end])
            .read_to_end(&mut text)
            .is_ok()
        {
            all.push(String::from_utf8_lossy(&text).into_owned());
        }
        at = end + 9;
    }
    all
}

#[test]
fn a_hundred_millimetres_are_283_points() {
    let (m, job) = of("strap-embosser");
    for (leaf, size) in [
        (Leaf::A4, [595.275_6, 841.889_8]),
        (Leaf::Letter, [612.0, 792.0]),
    ] {
        let packet = packet(&m, &job, None, None, None, leaf);
        let pdf = packet.pdf(&mut |_| ()).unwrap();
        let text = String::from_utf8_lossy(&pdf);
        let boxes: Vec<Vec<f64>> = text
            .split("/MediaBox")
            .skip(1)
            .map(|t| {
                let list = t
                    .trim_start()
                    .trim_start_matches('[')
                    .split(']')
                    .next()
                    .unwrap();
                list.split_whitespace()
                    .map(|x| x.parse().unwrap())
                    .collect()
            })
            .collect();
        assert_eq!(boxes.len(), packet.len());
        for b in &boxes {
            let (w, h) = (b[2].min(b[3]), b[2].max(b[3]));
            assert!(
                (w - size[0]).abs() < 0.01 && (h - size[1]).abs() < 0.01,
                "{b:?}"
            );
        }
        // The bar: its two ends in the content of the first sheet, brought to the paper by the matrices before them.
        let bars = streams(&pdf)
            .iter()
            .filter_map(|s| bar(s))
            .collect::<Vec<f64>>();
        assert!(
            bars.len() >= packet.len(),
            "{} bars on {} sheets",
            bars.len(),
            packet.len()
        );
        for long in bars {
            assert!((long - 283.464_6).abs() < 1e-3, "{long}");
        }
    }
}

/// Length in points of the horizontal line that is 100 mm long in the content, found by its numbers and its matrices.
fn bar(content: &str) -> Option<f64> {
    let mut scale = vec![1.0];
    let mut numbers: Vec<f64> = Vec::new();
    let mut from: Option<[f64; 2]> = None;
    for word in content.split_whitespace() {
        if let Ok(x) = word.parse::<f64>() {
            numbers.push(x);
            continue;
        }
        let n = numbers.len();
        match word {
            "q" => scale.push(*scale.last()?),
            "Q" => {
                scale.pop();
            }
            "cm" if n >= 6 => *scale.last_mut()? *= numbers[n - 6],
            "m" if n >= 2 => from = Some([numbers[n - 2], numbers[n - 1]]),
            "l" if n >= 2 => {
                let to = [numbers[n - 2], numbers[n - 1]];
                if let Some(a) = from {
                    let long = (to[0] - a[0]).abs() * scale.last()?;
                    if (to[1] - a[1]).abs() < 1e-6 && (long - 283.46).abs() < 0.5 {
                        return Some(long);
                    }
                }
                from = Some(to);
            }
            _ => {}
        }
        numbers.clear();
    }
    None
}

#[test]
fn fonts_are_embedded_text_can_be_read_and_bytes_repeat() {
    let (m, job) = of("strap-embosser");
    let make = || {
        packet(&m, &job, None, None, None, Leaf::A4)
            .pdf(&mut |_| ())
            .unwrap()
    };
    let pdf = make();
    assert_eq!(pdf, make(), "the same inputs give the same bytes");
    let text = String::from_utf8_lossy(&pdf);
    assert!(
        text.contains("/ToUnicode") && text.contains("/FontFile") && text.contains("/Outlines")
    );
    assert!(text.matches("/Title").count() > job.parts.len());
}

/// Entities of a DXF of release 12: kind and its group codes, by a reader that knows nothing of the writer.
fn entities(dxf: &str) -> Vec<(String, BTreeMap<u32, String>)> {
    let lines: Vec<&str> = dxf.lines().collect();
    let pairs: Vec<(u32, &str)> = lines
        .chunks(2)
        .map(|c| (c[0].trim().parse().unwrap(), c[1]))
        .collect();
    let start = pairs.iter().position(|p| *p == (2, "ENTITIES")).unwrap();
    let mut all: Vec<(String, BTreeMap<u32, String>)> = Vec::new();
    for &(code, value) in &pairs[start + 1..] {
        if code == 0 {
            if value == "ENDSEC" {
                break;
            }
            all.push((value.to_owned(), BTreeMap::new()));
        } else if let Some(last) = all.last_mut() {
            last.1.insert(code, value.to_owned());
        }
    }
    all
}

#[test]
fn plates_read_back_from_dxf_are_the_model() {
    for example in ["strap-embosser", "rolling-mill", "treadle"] {
        let (m, job) = of(example);
        let packet = packet(&m, &job, None, None, None, Leaf::A4);
        for part in &job.parts {
            let Form::Plate(p) = &part.form else { continue };
            let name = format!("{}.dxf", part.name);
            let (_, dxf) = packet.files.iter().find(|(n, _)| *n == name).unwrap();
            let all = entities(dxf);
            let number = |e: &BTreeMap<u32, String>, code: u32| e[&code].parse::<f64>().unwrap();
            let drilled: Vec<_> = all
                .iter()
                .filter(|(k, e)| {
                    k == "CIRCLE" && ["DRILL", "FIT", "BLIND", "BACK"].contains(&e[&8].as_str())
                })
                .collect();
            assert_eq!(drilled.len(), p.holes.len(), "{name}");
            for (h, (_, e)) in p.holes.iter().zip(&drilled) {
                assert!((number(e, 10) - h.at[0]).abs() < 1e-6, "{name}");
                assert!((number(e, 20) - h.at[1]).abs() < 1e-6, "{name}");
                // A thread is drilled by a pitch less, to what the shop has near it.
                let (least, most) = match &h.fitted {
                    Fitted::Tapped { thread, .. } => (
                        thread.major - 1.3 * thread.pitch,
                        thread.major - 0.8 * thread.pitch,
                    ),
                    _ => (h.diameter() - 1e-6, h.diameter() + 1e-6),
                };
                let across = 2.0 * number(e, 40);
                assert!((least..=most).contains(&across), "{name} {across}");
            }
            // The outline closes, and its sides are those of the model.
            let cut: Vec<_> = all
                .iter()
                .filter(|(_, e)| e[&8] == "CUT")
                .take(p.outline.sides().len())
                .collect();
            let ends = |k: &str, e: &BTreeMap<u32, String>| -> [[f64; 2]; 2] {
                if k == "LINE" {
                    return [
                        [number(e, 10), number(e, 20)],
                        [number(e, 11), number(e, 21)],
                    ];
                }
                let at = |code| {
                    let angle = number(e, code).to_radians();
                    [
                        number(e, 10) + number(e, 40) * angle.cos(),
                        number(e, 20) + number(e, 40) * angle.sin(),
                    ]
                };
                [at(50), at(51)]
            };
            for (side, (kind, e)) in p.outline.sides().iter().zip(&cut) {
                let mut found = ends(kind, e);
                if let Side::Arc { sweep, radius, .. } = side {
                    assert!((number(e, 40) - radius).abs() < 1e-6, "{name}");
                    if *sweep < 0.0 {
                        found.reverse();
                    }
                }
                for (got, share) in found.iter().zip([0.0, 1.0]) {
                    let wanted = side.at(share);
                    let off = (got[0] - wanted[0]).hypot(got[1] - wanted[1]);
                    // Angles have six decimals of a degree: a millionth at 50 mm.
                    assert!(off < 5e-6, "{name}: {off}");
                }
            }
        }
    }
}

#[test]
fn coordinates_in_tables_are_the_points_of_the_machine() {
    let (m, job) = of("strap-embosser");
    let packet = packet(&m, &job, None, None, None, Leaf::A4);
    let (_, holes) = packet.files.iter().find(|(n, _)| n == "holes.csv").unwrap();
    let line = holes
        .lines()
        .find(|l| l.starts_with("link,") && l.contains("ram-pin"))
        .unwrap();
    let cells: Vec<&str> = line.split(',').collect();
    let point = |name: &str| m.points.iter().find(|p| p.name == name).unwrap();
    let (a, b) = (point("crank-pin"), point("ram-pin"));
    let far = (a.x - b.x).hypot(a.y - b.y);
    assert!((cells[4].parse::<f64>().unwrap() - far).abs() < 1e-6);
    assert!(cells[5].parse::<f64>().unwrap().abs() < 1e-6);
    // Every hole stands there, from whichever side it comes, and is drilled no larger than it is.
    let made = job.parts.iter().map(|p| match &p.form {
        Form::Plate(p) => p.holes.len() + p.edge_holes.len(),
        Form::Turned(t) => t.cross.len(),
    });
    assert_eq!(holes.lines().count() - 1, made.sum::<usize>());
    assert!(
        holes
            .lines()
            .any(|l| l.starts_with("ram,,die left,edge") || l.starts_with("ram,,die-left,edge")),
        "{holes}"
    );
    for line in holes.lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        let [size, drill] = [6, 7].map(|n: usize| cells[n].parse::<f64>().unwrap());
        assert!(drill > 0.0 && drill <= size, "{line}");
    }
    let (_, slots) = packet.files.iter().find(|(n, _)| n == "slots.csv").unwrap();
    assert!(slots.lines().any(|l| l.starts_with("cheek,")), "{slots}");
    assert!(
        packet
            .files
            .iter()
            .any(|(n, t)| n == "operations.csv" && t.lines().count() > 100)
    );
}

/// Rectangles of all lettering of an SVG, by the widths of its own font.
fn lettering(svg: &str) -> Vec<(String, [f64; 4])> {
    let font = ttf_parser::Face::parse(dejavu::sans::regular(), 0).unwrap();
    let bold = ttf_parser::Face::parse(dejavu::sans::bold(), 0).unwrap();
    let attribute = |tag: &str, name: &str| {
        tag.split(&format!(" {name}=\""))
            .nth(1)
            .and_then(|t| t.split('"').next())
            .map(str::to_owned)
    };
    let mut all = Vec::new();
    for piece in svg.split("<text ").skip(1) {
        let (tag, rest) = piece.split_once('>').unwrap();
        let tag = format!(" {tag}");
        let text = rest
            .split("</text>")
            .next()
            .unwrap()
            .replace("&amp;", "&")
            .replace("&lt;", "<")
            .replace("&gt;", ">")
            .replace("&quot;", "\"");
        let face = if attribute(&tag, "class").unwrap() == "name" {
            &bold
        } else {
            &font
        };
        let size: f64 = attribute(&tag, "font-size").unwrap().parse().unwrap();
        let width: f64 = text
            .chars()
            .map(|c| {
                face.glyph_index(c)
                    .and_then(|g| face.glyph_hor_advance(g))
                    .map_or(0.6, |a| f64::from(a) / 2048.0)
            })
            .sum::<f64>()
            * size;
        let x: f64 = attribute(&tag, "x").unwrap().parse().unwrap();
        let y: f64 = attribute(&tag, "y").unwrap().parse().unwrap();
        let left = match attribute(&tag, "text-anchor").as_deref() {
            Some("middle") => -width / 2.0,
            Some("end") => -width,
            _ => 0.0,
        };
        let tall = 0.72 * size;
        let rect = if tag.contains("rotate(-90") {
            [x - tall, y - left - width, x, y - left]
        } else {
            [x + left, y - tall, x + left + width, y]
        };
        all.push((text, rect));
    }
    all
}

#[test]
fn no_lettering_lies_on_other_lettering_or_off_the_sheet() {
    let mut wrong = Vec::new();
    for example in ["strap-embosser", "rolling-mill", "treadle"] {
        let (m, job) = of(example);
        let packet = packet(&m, &job, None, None, None, Leaf::A4);
        for n in 0..packet.len() {
            let svg = packet.svg(n).unwrap();
            let [w, h] = packet.size(n).unwrap();
            let all = lettering(&svg);
            for (i, (text, r)) in all.iter().enumerate() {
                if r[0] < 4.0 || r[1] < 4.0 || r[2] > w - 4.0 || r[3] > h - 4.0 {
                    wrong.push(format!("{example} sheet {}: \"{text}\" runs off", n + 1));
                }
                for (other, o) in &all[..i] {
                    let over =
                        (r[2].min(o[2]) - r[0].max(o[0])).min(r[3].min(o[3]) - r[1].max(o[1]));
                    if over > 0.3 {
                        wrong.push(format!(
                            "{example} sheet {}: \"{text}\" on \"{other}\" by {over:.1}",
                            n + 1
                        ));
                    }
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}\n{}", wrong.len(), wrong.join("\n"));
}

#[test]
fn a_drawing_says_its_sizes() {
    let (m, job) = of("strap-embosser");
    let part = job.parts.iter().find(|p| p.name == "link").unwrap();
    let svg = part_sheet(&m, part, Leaf::A4).svg(sheets::Look::Print);
    // Centres 110 apart, round ends of 15, 140 over all, bores written out.
    for said in [
        ">110.000<",
        "R15",
        ">(140)<",
        ">(30)<",
        "⌀16 H7 (+0.018 / 0)",
        "ISO 2768-m",
    ] {
        assert!(svg.contains(said), "{said}\n{svg}");
    }
}

/// Of sixty holes the table is cut short, and says where the rest stands; what is said once for the whole part stays.
#[test]
fn notes_stay_below_a_long_table_of_holes() {
    let path =
        Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/strap-embosser/machine.toml");
    let mut text = std::fs::read_to_string(&path).unwrap();
    text += "\n[piece.it]\nstock = { flat = [\"8 mm\", \"70 mm\"], material = \"1018 cold drawn\" }\noutline = { from = [0, 0], to = [105, 70] }\n";
    for n in 0..60 {
        let at = [
            6.0 + 10.3 * f64::from(n % 10),
            6.0 + 11.7 * f64::from(n / 10),
        ];
        text += &format!(
            "hole.h{n} = {{ at = {at:?}, drill = \"{} mm\" }}\n",
            3 + n % 4
        );
    }
    let m = machine::read_as(&path, text.as_bytes()).machine.unwrap();
    let job = job(&m, &[]);
    let part = job.parts.iter().find(|p| p.name == "it").unwrap();
    for leaf in [Leaf::A4, Leaf::Letter] {
        let svg = part_sheet(&m, part, leaf).svg(sheets::Look::Print);
        let all = lettering(&svg);
        let of = |words: &str| {
            all.iter()
                .find(|(t, _)| t.contains(words))
                .unwrap_or_else(|| panic!("{words}: {svg}"))
        };
        let lowest = [
            "all places stand",
            "General tolerance ISO 2768-m",
            "Edges broken",
            "are taken as H12",
        ]
        .map(|w| of(w).1[3]);
        assert!(lowest.windows(2).all(|w| w[0] < w[1]), "{lowest:?}");
        // Above the title block.
        assert!(lowest[3] < of("scale ").1[1], "{lowest:?}");
    }
}

/// Boxes of all paths of an SVG in mm of paper, as the reader of another library sees them.
fn boxes(svg: &str) -> Vec<[f64; 4]> {
    fn inner(group: &resvg::usvg::Group, all: &mut Vec<[f64; 4]>) {
        for node in group.children() {
            match node {
                resvg::usvg::Node::Group(g) => inner(g, all),
                resvg::usvg::Node::Path(p) => {
                    let b = p.abs_bounding_box();
                    let mm = |px: f32| f64::from(px) * 25.4 / 96.0;
                    all.push([mm(b.left()), mm(b.top()), mm(b.right()), mm(b.bottom())]);
                }
                _ => {}
            }
        }
    }
    let tree = resvg::usvg::Tree::from_str(svg, &resvg::usvg::Options::default()).unwrap();
    let mut all = Vec::new();
    inner(tree.root(), &mut all);
    all
}

#[test]
fn holes_drawn_are_as_large_and_as_far_apart_as_the_model_says() {
    let (m, job) = of("strap-embosser");
    for name in ["link", "bell-crank", "crank"] {
        let part = job.parts.iter().find(|p| p.name == name).unwrap();
        let Form::Plate(p) = &part.form else {
            panic!("a plate");
        };
        let svg = part_sheet(&m, part, Leaf::A4).svg(sheets::Look::Print);
        let scale = svg
            .split(">scale ")
            .nth(1)
            .unwrap()
            .split('<')
            .next()
            .unwrap();
        let (a, b) = scale.split_once(':').unwrap();
        let k = a.parse::<f64>().unwrap() / b.parse::<f64>().unwrap();
        let circles: Vec<[f64; 4]> = boxes(&svg)
            .into_iter()
            .filter(|b| ((b[2] - b[0]) - (b[3] - b[1])).abs() < 2e-3 && b[2] - b[0] > 1.0)
            .collect();
        // The sheet is written to a thousandth of a millimetre of paper.
        let close = |a: f64, b: f64| (a - b).abs() < 2e-3;
        let centre = |b: &[f64; 4]| [f64::midpoint(b[0], b[2]), f64::midpoint(b[1], b[3])];
        let first = &p.holes[0];
        let as_large = |d: f64| circles.iter().filter(move |b| close(b[2] - b[0], d * k));
        let found = as_large(first.diameter()).any(|one| {
            let [x0, y0] = centre(one);
            p.holes.iter().all(|h| {
                let (x, y) = (
                    x0 + k * (h.at[0] - first.at[0]),
                    y0 - k * (h.at[1] - first.at[1]),
                );
                // A thread is drawn by its minor circle and three quarters of its major one.
                let threaded = matches!(h.fitted, machine::fitting::Fitted::Tapped { .. });
                circles.iter().any(|b| {
                    let (c, wide) = (centre(b), b[2] - b[0]);
                    let fits = if threaded {
                        (0.7..0.95).contains(&(wide / (h.diameter() * k)))
                    } else {
                        close(wide, h.diameter() * k)
                    };
                    fits && close(c[0], x) && close(c[1], y)
                })
            })
        });
        assert!(found, "{name} at {scale}: {circles:?}");
    }
}

#[test]
fn the_setting_sheet_says_what_a_shim_and_a_turn_do() {
    let (m, job) = of("strap-embosser");
    let model = studies::assemble(&m);
    let up = studies::setting_up(&model);
    // As drawn, and the lever at both ends of its range; the crank turns all round.
    assert_eq!(up.spots.len(), 3);
    let reading = |name: &str| up.readings.iter().position(|q| q.name == name).unwrap();
    let (gap, lift) = (reading("gap"), reading("lift"));
    // The die stands 110 + 160 below a pin 400 up, the anvil at 88.7 (the machine file).
    let drawn = up.spots[0].values[gap].unwrap();
    assert!((drawn - (400.0 - 270.0 - 88.7)).abs() < 1e-6, "{drawn}");
    // A shim under the anvil closes the gap by itself.
    let shim = up.effects.iter().find(|e| e.setting.name == "anvil-shim");
    let shim = shim.unwrap();
    assert!((shim.changes[gap].unwrap() + shim.step).abs() < 1e-6);
    assert!((shim.changes[lift].unwrap() - shim.step).abs() < 1e-6);
    // M8 female ends of series K have 16 of thread: 12 in, 4 out are 3.2 turns; 8 stay in at 6.4.
    let starts = shop::order::starts(&m);
    let rod = starts.iter().find(|s| s.name == "down rod").unwrap();
    assert!(rod.from.contains("3.2 and 3.2 turns out"), "{rod:?}");
    assert!(rod.limits.contains("6.4 and 6.4"), "{rod:?}");
    // Every part of the machine goes in once, what it hangs on before it.
    let stages = shop::order::stages(&m, &job.parts);
    let at = |text: &str| {
        let all: Vec<usize> = (0..stages.len())
            .filter(|&i| stages[i].what.starts_with(text))
            .collect();
        assert_eq!(all.len(), 1, "{text}");
        all[0]
    };
    assert!(at("Build up the frame") < at("Put the arm onto the cross shaft"));
    assert!(at("Fit the crank ") < at("Fit the link"));
    assert!(at("Screw the lever stud into the lever plate") < at("Fit the lever "));
    assert!(at("Fit the lever ") < at("Set the down rod"));
    // The eccentrics are 38 + 2 x 3 across, the bushings 40.
    let frame = stages
        .iter()
        .find(|s| s.what.starts_with("Build up the frame"));
    assert!(
        frame
            .unwrap()
            .what
            .contains("cross shaft reaches 22 from its axis, the bore is 40 across"),
        "{frame:?}"
    );
    let setting = sheets::Setting {
        up,
        parts: studies::parts::parts(&model),
    };
    let with = packet(&m, &job, None, Some(&setting), None, Leaf::A4);
    let without = packet(&m, &job, None, None, None, Leaf::A4);
    assert!(with.len() > without.len());
    // The setting sheets come last, and run on to a further page where there is more to say.
    let more: String = (without.len() - 1..with.len())
        .filter_map(|n| with.svg(n))
        .collect();
    for said in ["What to read", "41.300 mm", "-0.050 mm"] {
        assert!(more.contains(said), "{said}");
    }
}

#[test]
fn a_cam_with_set_screws_is_marked_while_its_shaft_is_open() {
    let (m, _) = of("power-hacksaw");
    let model = studies::assemble(&m);
    let job = shop::job(&m, &studies::cams::shapes(&model));
    let all: Vec<String> = shop::order::stages(&m, &job.parts)
        .into_iter()
        .map(|s| s.what)
        .collect();
    let at = |words: &str| {
        let found = all.iter().position(|s| s.contains(words));
        found.unwrap_or_else(|| panic!("{words}: {all:#?}"))
    };
    // The crank's pin stands at 0°, its keyway on the other side; the follower's pivot is seen at 327.99° (atan(-75 / 120)).
    let put = &all[at("Put the relief")];
    assert!(
        put.contains("keyway for crank looks to 180°")
            && put.contains("line 0 of lift to 327.99°")
            && put.contains("drill a spot at each mark"),
        "{put}"
    );
    // Its plate is 10 thick about 74, its hub 20 long.
    assert!(
        put.contains(
            "the middle of its plate 74 from the left end (69 to 79), its hub to the right, to 89"
        ),
        "{put}"
    );
    assert!(at("Put the relief") < at("Put the crank"));
    assert!(at("Try how the cam lift was timed") > at("Fit the lifter"));
}
