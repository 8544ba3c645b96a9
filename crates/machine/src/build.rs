//! From files taken apart by TOML to a machine: everything is gathered, read, placed and checked in this order.

use std::path::Path;

use crate::construct;
use crate::declared::Declared;
use crate::desk::Desk;
use crate::diagnostic::Diagnostic;
use crate::ground::Ground;
use crate::load::{File, Loaded};
use crate::model::{Machine, Moves, Place, Point, Row};
use crate::rows::RowDraft;
use crate::sources::Sources;
use crate::{
    asks, cams, drives, genevas, guides, parts, planes, points, ratios, readings, rods, rows,
    settings, shop, whole, works,
};

/// Builds the machine; only when there is no error.
pub(crate) fn machine(loaded: Loaded) -> (Sources, Option<Machine>, Vec<Diagnostic>) {
    let Loaded {
        sources,
        files,
        shop,
        mut problems,
        partial,
    } = loaded;
    let mut found = None;
    if let Some(main) = files.first() {
        let mut desk = Desk::of_part(&sources, partial, main.unit);
        if files.iter().all(|f| f.root.is_empty()) {
            empty(&mut desk, main);
        } else {
            found = assemble(&mut desk, &files);
        }
        let shop = shop.and_then(|file| shop::read(&mut desk, &file));
        if let Some(machine) = &mut found {
            machine.work.shop = shop;
        }
        let clean = problems
            .iter()
            .all(|p| p.severity != crate::Severity::Error)
            && desk.errors() == 0;
        if let Some(machine) = found.as_ref().filter(|_| clean) {
            whole::idle_points(&mut desk, machine);
        }
        problems.extend(desk.into_problems());
        if !clean {
            found = None;
        }
    }
    // In the order of the files; a problem without a place comes first.
    problems.sort_by_key(|p| p.labels.first().map(|l| (l.place.source, l.place.start)));
    (sources, found, problems)
}

fn empty(desk: &mut Desk, main: &File) {
    let place = Place {
        source: main.source,
        start: 0,
        end: 0,
    };
    desk.push(
        Diagnostic::error("empty", "the file says nothing: a machine has at least a frame, a part and the points they carry")
            .at(place, "")
            .help("`bellcrank new` writes a small machine to begin with"),
    );
}

fn assemble(desk: &mut Desk, files: &[File]) -> Option<Machine> {
    let declared = Declared::gather(desk, files);
    let planes = planes::read(desk, &declared.planes);
    let mut definitions = points::read(desk, &declared.points);
    let row_drafts = rows::read(desk, &declared.rows);
    definitions.extend(
        row_drafts
            .iter()
            .map(|r| r.as_ref().map(|r| r.definition.clone())),
    );
    let rows_sound = row_drafts.iter().all(Option::is_some);
    let spots = construct::solve(desk, &definitions, &planes);

    let (mut part_list, parts_sound) = parts::read(desk, &declared, &row_drafts);
    let parts_flat = parts::settle(desk, &mut part_list, &spots);
    let sure = parts_sound && rows_sound && desk.is_complete();
    let ground = Ground::new(planes, spots, part_list, sure);
    parts::check(desk, &ground, declared.points.len());

    let before = desk.errors();
    let rods = rods::read(desk, &declared.rods);
    let rods_sound = desk.errors() == before;
    rods::check(desk, &ground, &rods, &declared.rods);
    let before = desk.errors();
    let slides = guides::slides(desk, &ground, &declared.slides);
    let slots = guides::slots(desk, &ground, &declared.slots);
    let ratios = ratios::read(desk, &ground, &declared.gears, &declared.belts);
    let sliding = ratios::Slides::new(&slides, desk.is_complete());
    let genevas = genevas::read(desk, &ground, &declared.genevas);
    let racks = ratios::racks(desk, &ground, &sliding, &declared.racks);
    let guides_sound = desk.errors() == before;
    let rows = place_rows(&row_drafts, &ground, declared.points.len(), &declared);
    let drives = drives::drives(desk, &ground, &sliding, &declared.drives);

    let held = readings::held(&ground, &rods);
    let faces = readings::faces(desk, &ground, &declared.faces);
    let base = readings::Base {
        ground: &ground,
        faces: &faces,
        drives: &drives,
        held: &held,
        certain: sure && rods_sound,
    };
    let readings = readings::readings(desk, &base, &declared.readings);
    let cams_base = cams::Base {
        ground: &ground,
        slides: &slides,
        readings: &readings,
    };
    let cams = cams::read(desk, &cams_base, &declared.cams);
    let stops = readings::stops(desk, &base, &readings, &declared.stops);
    let adjustable = settings::Adjustable {
        rods: &rods,
        rows: &rows,
        stops: &stops,
        readings: &readings,
    };
    let settings = settings::settings(desk, &ground, &adjustable, &declared.settings);
    settings::check(desk, &ground, &adjustable, &settings, &declared.settings);
    let asks = asks::read(desk, &readings, &drives, &declared.asks);
    let hands: Vec<bool> = declared
        .drives
        .iter()
        .map(|n| n.entry.node.entries().iter().any(|e| e.name == "hand"))
        .collect();
    let first = works::First {
        ground: &ground,
        drives: &drives,
        readings: &readings,
        asks: &asks,
        hands: &hands,
        held: &held,
        certain: sure && rods_sound,
        rods: &rods,
        slides: &slides,
        slots: &slots,
    };
    let work = works::read(desk, &declared, files, &first);

    // Whether all hangs together can only be told when every joint was understood.
    if sure && parts_flat && rods_sound && guides_sound && cams.iter().all(Option::is_some) {
        let mut turned = vec![false; ground.parts.len()];
        let driven = drives.iter().flatten().filter_map(|d| match d.moves {
            Moves::Turns(part) => Some(part),
            Moves::Slides(_) => None,
        });
        let geared = ratios.iter().flatten().flat_map(|r| r.joins);
        let racked = racks.iter().flatten().map(|r| r.gear);
        let cammed = cams.iter().flatten().map(|c| c.part);
        let indexed = genevas.iter().flatten().flat_map(|g| [g.driver, g.wheel]);
        for part in driven
            .chain(geared)
            .chain(racked)
            .chain(cammed)
            .chain(indexed)
        {
            if let Some(turned) = turned.get_mut(part) {
                *turned = true;
            }
        }
        let joints = whole::Joints {
            rods: &rods,
            slides: &slides,
            slots: &slots,
            turned: &turned,
        };
        whole::connected(desk, &ground, &joints, &declared);
        if drives.iter().all(Option::is_some) {
            whole::enough_points(desk, &ground, &joints);
        }
        whole::something_moves(desk, &declared);
    }

    let main = files.first()?;
    let name = if main.name.is_empty() {
        stem(desk, main)
    } else {
        main.name.clone()
    };
    let all_points = declared.points.iter().chain(&declared.rows);
    let points: Option<Vec<Point>> = all_points
        .zip(&ground.spots)
        .map(|(named, spot)| {
            let spot = (*spot)?;
            Some(Point {
                name: named.entry.name.to_owned(),
                plane: spot.plane,
                x: spot.at[0],
                y: spot.at[1],
                station: spot.station,
                place: named.entry.place,
            })
        })
        .collect();
    Some(Machine {
        name,
        note: main.note.clone(),
        unit: main.unit,
        planes: ground.planes.into_iter().collect::<Option<_>>()?,
        points: points?,
        parts: ground.parts,
        rods: rods.into_iter().collect::<Option<_>>()?,
        slides: slides.into_iter().collect::<Option<_>>()?,
        slots: slots.into_iter().collect::<Option<_>>()?,
        ratios: ratios.into_iter().collect::<Option<_>>()?,
        racks: racks.into_iter().collect::<Option<_>>()?,
        cams: cams.into_iter().collect::<Option<_>>()?,
        genevas: genevas.into_iter().collect::<Option<_>>()?,
        rows: rows.into_iter().collect::<Option<_>>()?,
        drives: drives.into_iter().collect::<Option<_>>()?,
        settings: settings.into_iter().collect::<Option<_>>()?,
        faces: faces.into_iter().collect::<Option<_>>()?,
        readings: readings.into_iter().collect::<Option<_>>()?,
        stops: stops.into_iter().collect::<Option<_>>()?,
        asks: asks.into_iter().collect::<Option<_>>()?,
        work: work?,
    })
}

/// The name of the file without its ending: the machine's name when none is written.
fn stem(desk: &Desk, main: &File) -> String {
    let path = desk
        .sources
        .get(main.source)
        .map_or("", crate::Source::path);
    Path::new(path)
        .file_stem()
        .map_or_else(String::new, |s| s.to_string_lossy().into_owned())
}

fn place_rows(
    drafts: &[Option<RowDraft>],
    ground: &Ground,
    first: usize,
    declared: &Declared,
) -> Vec<Option<Row>> {
    drafts
        .iter()
        .zip(&declared.rows)
        .enumerate()
        .map(|(n, (draft, named))| {
            let draft = draft.as_ref()?;
            let used = ground.spot(first + n)?.at;
            let holes = (0..draft.count).map(|hole| {
                let from_used = hole as f64 - draft.used as f64;
                [
                    used[0] + from_used * draft.step[0],
                    used[1] + from_used * draft.step[1],
                ]
            });
            Some(Row {
                name: named.entry.name.to_owned(),
                on: draft.on,
                point: first + n,
                holes: holes.collect(),
                used: draft.used,
                place: draft.place,
            })
        })
        .collect()
}
