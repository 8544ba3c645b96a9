//! Packets of machine files, to be looked at: `look OUT a4|letter dual? FILE...`
use sheets::{Leaf, Pose, Print, packet};
fn main() {
    let args: Vec<String> = std::env::args().collect();
    let leaf = if args[2] == "letter" {
        Leaf::Letter
    } else {
        Leaf::A4
    };
    let dual = args[3] == "dual";
    for f in &args[4..] {
        let path = std::path::Path::new(f);
        let read = machine::read(path);
        let Some(machine) = read.machine else {
            eprintln!("{f}: not read");
            continue;
        };
        let model = studies::assemble(&machine);
        let job = shop::job(&machine, &studies::cams::shapes(&model));
        let stand = model.drawn();
        let standing = studies::standing(&model, &stand).ok();
        let pose = standing.as_ref().map(|s| Pose {
            standing: s,
            drives: &stand.drives,
            settings: &stand.settings,
        });
        let setting = sheets::Setting {
            up: studies::setting_up(&model),
            parts: studies::parts::parts(&model),
        };
        let dial = studies::dial::paper(&model, None).ok();
        let t = std::time::Instant::now();
        let p = packet(
            &machine,
            &job,
            pose.as_ref(),
            Some(&setting),
            dial.as_ref(),
            Print { leaf, dual },
        );
        let made = t.elapsed();
        let pdf = p.pdf(&mut |_| ()).unwrap();
        let name = path
            .parent()
            .unwrap()
            .file_name()
            .unwrap()
            .to_string_lossy()
            .into_owned();
        let stem = path.file_stem().unwrap().to_string_lossy().into_owned();
        let name = if stem == "machine" {
            name
        } else {
            format!("{name}-{stem}")
        };
        let out = format!("{}/{name}", args[1]);
        std::fs::create_dir_all(&out).unwrap();
        std::fs::write(format!("{out}/packet.pdf"), pdf).unwrap();
        for (n, t) in &p.files {
            std::fs::write(format!("{out}/{n}"), t).unwrap();
        }
        for n in 0..p.len() {
            std::fs::write(format!("{out}/{:03}.svg", n + 1), p.svg(n).unwrap()).unwrap();
        }
        println!(
            "{name}: {} sheets, laid out in {:.3} s, PDF in {:.3} s",
            p.len(),
            made.as_secs_f64(),
            (t.elapsed() - made).as_secs_f64()
        );
    }
}
