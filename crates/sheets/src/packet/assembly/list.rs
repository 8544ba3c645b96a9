//! The list of parts: what each is, and on which sheets it stands.

use crate::packet::flow::{Column, Flow};
use crate::packet::paper::{Block, Leaf, Page};
use crate::packet::papers;
use machine::Machine;
use shop::{Job, words};

/// On which sheets a part is: drawing, operations, template.
#[derive(Clone, Debug, Default)]
pub(in crate::packet) struct Places {
    pub(in crate::packet) drawing: usize,
    pub(in crate::packet) operations: usize,
    pub(in crate::packet) template: Option<usize>,
}

/// The list of parts with their sheets.
pub(in crate::packet) fn list(
    machine: &Machine,
    job: &Job,
    places: &[Places],
    leaf: Leaf,
) -> Vec<Page> {
    let block = Block {
        machine: machine.name.clone(),
        title: "List of parts".to_owned(),
        ..Block::default()
    };
    let mut flow = Flow::new(leaf, block, "List of parts", false);
    flow.title("List of parts");
    let column = |head, share| Column { head, share };
    let rows: Vec<Vec<String>> = job
        .parts
        .iter()
        .enumerate()
        .map(|(n, p)| {
            let at = places.get(n).cloned().unwrap_or_default();
            vec![
                (n + 1).to_string(),
                words::spoken(&p.name),
                p.count.to_string(),
                p.material.name.clone(),
                shop::cut::stock_of(
                    p.section,
                    &p.material.name,
                    machine.work.shop.as_ref(),
                    machine.unit,
                ),
                papers::mass(p.mass(), machine.unit),
                at.drawing.to_string(),
                at.operations.to_string(),
                at.template.map_or_else(String::new, |t| t.to_string()),
            ]
        })
        .collect();
    flow.table(
        &[
            column("", 8.0),
            column("part", 36.0),
            column("off", 8.0),
            column("material", 39.0),
            column("from", 27.0),
            column("each", 17.0),
            column("drawing", 17.0),
            column("steps", 13.0),
            column("template", 18.0),
        ],
        &rows,
    );
    flow.text("The last columns are numbers of sheets.");
    flow.finish()
}
