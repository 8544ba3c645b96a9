//! The examples of `docs/machine-file.md`.

use toml_edit::{DocumentMut, Item, Table};

/// All TOML examples of the page as one text; later examples may add to a table of an earlier one.
pub(crate) fn page() -> String {
    let page = std::fs::read_to_string(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../docs/machine-file.md"
    ))
    .unwrap();
    let mut whole = DocumentMut::new();
    let mut inside = false;
    let mut block = String::new();
    for line in page.lines() {
        if line == "```toml" {
            inside = true;
        } else if line == "```" && inside {
            inside = false;
            let example: DocumentMut = block.parse().unwrap_or_else(|e| panic!("{e}\n{block}"));
            merge(whole.as_table_mut(), example.as_table());
            block.clear();
        } else if inside {
            block.push_str(line);
            block.push('\n');
        }
    }
    whole.to_string()
}

fn merge(into: &mut Table, from: &Table) {
    for (key, item) in from {
        match (into.get_mut(key), item) {
            (Some(Item::Table(old)), Item::Table(new)) => merge(old, new),
            (Some(_), _) => panic!("`{key}` is written twice on the page"),
            (None, item) => {
                into.insert(key, item.clone());
            }
        }
    }
}
