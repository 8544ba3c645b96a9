//! Every outside case through every solver.

use checks::{
    Case, Dense, LOAD, MOTION, Planned, Solver, answer, disagreements, index, of_cases, of_list,
    read_cases,
};
use mechanics::plan::Forms;
use std::io::Write;
use std::path::Path;

fn run(cases: &[Case], solver: &dyn Solver) {
    let mut wrong = Vec::new();
    for case in cases {
        let found = answer(case, solver).map_or_else(|e| vec![e], |a| disagreements(case, &a));
        if !found.is_empty() {
            wrong.push(format!("{}:\n    {}", case.id, found.join("\n    ")));
        }
    }
    // Shown whether the test passes or not.
    let said = format!(
        "outside cases: {}, agree: {} ({})",
        cases.len(),
        cases.len() - wrong.len(),
        solver.name()
    );
    let _ = writeln!(std::io::stdout(), "{said}");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_dense_solver_agrees() {
    run(&read_cases(MOTION).expect("motion.json reads"), &Dense);
}

#[test]
fn plans_agree() {
    let cases = read_cases(MOTION).expect("motion.json reads");
    run(&cases, &Planned(Forms::Closed));
    run(&cases, &Planned(Forms::NewtonOnly));
}

#[test]
fn names_are_unique() {
    let mut ids: Vec<String> = read_cases(MOTION)
        .expect("motion.json reads")
        .into_iter()
        .map(|c| c.id)
        .collect();
    let all = ids.len();
    ids.sort();
    ids.dedup();
    assert_eq!(ids.len(), all);
}

#[test]
fn a_wrong_value_is_noticed() {
    let cases =
        read_cases(&MOTION.replace("9.401336668876382", "9.401336678876382")).expect("reads");
    let wrong: Vec<&str> = cases
        .iter()
        .filter(|c| c.machine == "chain")
        .filter(|c| !answer(c, &Dense).is_ok_and(|a| disagreements(c, &a).is_empty()))
        .map(|c| c.id.as_str())
        .collect();
    assert_eq!(wrong, ["chain-gap-minus-20"]);
}

#[test]
fn the_index_is_up_to_date() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut entries = of_cases(
        "motion.json",
        &read_cases(MOTION).expect("motion.json reads"),
    );
    entries.extend(of_cases(
        "load.json",
        &read_cases(LOAD).expect("load.json reads"),
    ));
    let files = std::fs::read_dir(folder).expect("the folder of the cases");
    let mut lists: Vec<_> = files.map(|f| f.expect("a file").path()).collect();
    // Cases with machines are in already; what other programs made of whole packets and cut lists is no list of cases.
    let else_where = ["motion.json", "load.json", "packet.json", "cutting.json"];
    lists.retain(|f| {
        f.extension().is_some_and(|e| e == "json")
            && !else_where.iter().any(|name| f.ends_with(name))
    });
    lists.sort();
    for list in lists {
        let name = list.file_name().and_then(|n| n.to_str()).expect("a name");
        let text = std::fs::read_to_string(&list).expect("the list reads");
        entries.extend(of_list(name, &text).unwrap_or_else(|e| panic!("{e}")));
    }
    let path = folder.join("INDEX.md");
    let wanted = index(&entries);
    if std::env::var_os("UPDATE").is_some() {
        std::fs::write(&path, &wanted).expect("INDEX.md is written");
    }
    let stands = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(
        stands == wanted,
        "checks/INDEX.md has drifted; run UPDATE=1 cargo test -p checks"
    );
}
