//! The HTML of a view, with the first picture in it. What changes later is filled in by the page itself.

mod turn;

use maud::{DOCTYPE, Markup, PreEscaped, html};
use serde_json::Value;

/// What a view shows first.
pub(crate) struct Shown<'a> {
    /// The machine's name in links.
    pub(crate) machine: &'a str,
    /// The view, one of [`VIEWS`].
    pub(crate) view: &'a str,
    /// The machine's title.
    pub(crate) title: &'a str,
    /// The picture, as SVG; empty when there is no machine to draw.
    pub(crate) picture: &'a str,
    /// What `state` answers.
    pub(crate) state: &'a Value,
}

/// The stages, and what each is for.
pub(crate) const VIEWS: [(&str, &str); 7] = [
    ("brief", "Brief"),
    ("motion", "Motion"),
    ("cycle", "Cycle"),
    ("load", "Load"),
    ("fit-up", "Fit-up"),
    ("make", "Make"),
    ("dial-in", "Dial in"),
];

/// Units in which a new machine can be written.
pub(crate) const NEW_UNITS: [&str; 6] = ["mm", "cm", "m", "in", "ft", "thou"];

/// Tools of the board: name, what stands on it, its key, what it does.
const TOOLS: [(&str, &str, &str, &str); 11] = [
    (
        "move",
        "Move",
        "M",
        "Take hold of a part and move the machine",
    ),
    (
        "shape",
        "Shape",
        "H",
        "Pick a point, part or rod; drag a point to another place",
    ),
    ("point", "Point", "P", "Mark a point"),
    (
        "bar",
        "Part",
        "B",
        "Draw a part from point to point; the first point again, or Enter, ends it",
    ),
    ("rod", "Rod", "R", "Join two points by a rod"),
    ("fix", "Fix", "F", "Pin a point to the frame, or free it"),
    (
        "slide",
        "Slide",
        "S",
        "Let a part slide: pick it, then where it is to go",
    ),
    (
        "drive",
        "Drive",
        "D",
        "Pick the part that a hand or motor moves",
    ),
    (
        "read",
        "Reading",
        "G",
        "Measure: pick two points, or one part twice",
    ),
    (
        "force",
        "Load",
        "L",
        "Press on a point: pick it, then where the force points to",
    ),
    (
        "row",
        "Holes",
        "O",
        "A row of holes: pick the part, the first hole and the next",
    ),
];

/// The whole document.
pub(crate) fn page(shown: &Shown<'_>) -> String {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="dark light";
                title { (shown.title) " – " (shown.view) }
                link rel="icon" href="data:,";
                link rel="stylesheet" href="/assets/page.css";
                link rel="stylesheet" href="/assets/paper.css";
                link rel="stylesheet" href="/assets/make.css";
                link rel="stylesheet" href="/assets/turn.css";
                @for name in super::assets::modules() { link rel="modulepreload" href={ "/assets/" (name) }; }
                script type="module" src="/assets/page.js" {}
            }
            body data-machine=(shown.machine) data-view=(shown.view) data-version=(shown.state["version"]) data-words=(super::ask::WORDS.join(" ")) {
                a class="skip" href="#plate" { "To the drawing" }
                (top(shown))
                main {
                    (board(shown))
                    (side())
                }
                p id="gone" role="alert" hidden { "The program is not answering. What was done is in the file; the page goes on by itself when it is back. If it was started anew, open the link that it shows." }
                noscript { p { "The page moves the machine with JavaScript, which is switched off here." } }
            }
        }
    }
    .into_string()
}

/// What is shown instead of a page that cannot be had.
pub(crate) fn sorry(sentence: &str, help: &str) -> String {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { "bellcrank" }
                link rel="icon" href="data:,";
                link rel="stylesheet" href="/assets/page.css";
            }
            body { main { section id="sorry" {
                h1 { (sentence) }
                p { (help) }
                p { a href="/" { "To the machine" } }
            } } }
        }
    }
    .into_string()
}

fn top(shown: &Shown<'_>) -> Markup {
    html! {
        header {
            div class="which" {
                label for="machines" class="quiet" { "Machine" }
                select id="machines" { option value=(shown.machine) { (shown.title) } }
                select id="as" aria-label="Which machine is shown" hidden {
                    @for (value, words) in [("", "as drawn"), ("measured", "as measured"), ("built", "as built")] { option value=(value) { (words) } }
                }
                details id="new" {
                    summary { "New" }
                    form id="new-form" {
                        label { "Name of the machine" input name="name" required maxlength="60" autocomplete="off"; }
                        label { "Bare lengths are" select name="unit" { @for unit in NEW_UNITS { option { (unit) } } } }
                        button { "Begin" }
                        p role="alert" {}
                    }
                }
            }
            h1 class="quiet" { (shown.title) }
            p id="printed" {}
            nav aria-label="Stages" {
                @for (view, words) in VIEWS {
                    a href={ "/m/" (escaped(shown.machine)) "/" (view) } data-view=(view) aria-current=[(view == shown.view).then_some("page")] { (words) }
                }
            }
            div class="hands" {
                button id="undo" disabled title="Ctrl+Z" aria-label="Undo" { "Undo" }
                button id="redo" disabled title="Ctrl+Shift+Z" aria-label="Redo" { "Redo" }
                details id="out" {
                    summary { "Take out" }
                    ul {
                        @for (file, words) in [("drawing.svg", "Drawing, SVG"), ("drawing.png", "Drawing, PNG"), ("plot.svg", "Curves, SVG"), ("map.svg", "Map, SVG"), ("table.csv", "Table, CSV"), ("packet.pdf", "Packet, PDF"), ("answer.json", "Answer, JSON")] {
                            li { a data-file=(file) href={ "/api/m/" (escaped(shown.machine)) "/export/" (file) } download { (words) } }
                        }
                        li { button id="print" { "Print this view" } }
                    }
                }
            }
        }
    }
}

fn board(shown: &Shown<'_>) -> Markup {
    html! {
        section id="board" aria-label="Drawing board" {
            div id="tools" role="toolbar" aria-label="Tools" aria-orientation="vertical" {
                @for (i, (name, words, key, title)) in TOOLS.into_iter().enumerate() {
                    button data-tool=(name) aria-pressed=(i == 0) title=(format!("{title} ({key})")) aria-keyshortcuts=(key) tabindex=(if i == 0 { "0" } else { "-1" }) { (words) }
                }
            }
            p id="busy" role="status" hidden { output {} " " button { "Stop" } }
            div id="plate" tabindex="0" role="group" aria-label="The machine, drawn to scale" { (PreEscaped(shown.picture)) }
            div id="foot" {
                p id="say" aria-live="polite" { "\u{a0}" }
                div class="sight" role="group" aria-label="Sight" {
                    button id="smaller" aria-label="Smaller" title="Smaller (-)" { "−" }
                    output id="scale" { "fit" }
                    button id="larger" aria-label="Larger" title="Larger (+)" { "+" }
                    button id="fit" title="Whole machine (0)" { "Fit" }
                    button id="names" aria-pressed="true" title="Names of points (N)" { "Names" }
                    button id="ghost" title="Leave a shadow of this pose (K)" { "Shadow" }
                    button id="path" title="Path of the picked point (T)" { "Path" }
                    button id="drawn" title="Back to the pose as drawn (Home)" { "As drawn" }
                }
            }
            section id="drives" aria-label="Drives" {}
            section id="curves" aria-label="Curves" {
                div class="heads" { h2 { "Curves" } label { "over " select id="over" {} } label { "of " select id="of" {} } }
                div id="plot" {}
                details id="table" { summary { "The same in figures" } pre tabindex="0" {} }
            }
            (turn::turn())
            section id="made" aria-label="Made machines" {
                div class="heads" {
                    h2 { "As it comes out when it is made" }
                    button id="spread" title="Machines with every dimension off within its tolerance" { "Make 100 000 machines" }
                    button id="matters" title="What 0.1 mm or 0.1 degree more in each dimension does, in the pose on show" { "Which dimension matters" }
                }
                p id="progress" hidden { progress {} " " output {} " " button { "Stop" } }
                div id="bars" class="plot" {}
                pre id="made-text" tabindex="0" hidden {}
            }
            section id="beside" aria-label="Compared" {}
            section id="load-table" aria-label="Load tables" hidden { pre id="load-text" tabindex="0" aria-label="Load tables" {} }
            section id="fitup" aria-label="Fit-up" hidden { div id="fit-text" tabindex="0" {} }
            (make())
            (dial())
        }
    }
}

/// The shop papers.
fn make() -> Markup {
    html! {
        section id="make" aria-label="Make" hidden {
            div class="heads" {
                h2 { "Shop papers" }
                label { "on " select id="make-paper" { option value="a4" { "A4" } option value="letter" { "Letter" } option value="a4-dual" { "A4, both units" } option value="letter-dual" { "Letter, both units" } } }
                a id="make-pdf" download { "All sheets, PDF" }
            }
            p id="make-whole" {}
            ul id="make-text" tabindex="0" aria-label="What the shop has to say" {}
            div id="papers" {
                div id="make-list" role="group" aria-label="Sheets" {}
                figure {
                    div class="turn" {
                        button id="make-before" aria-label="Sheet before" { "◂" }
                        output id="make-which" {}
                        button id="make-after" aria-label="Next sheet" { "▸" }
                    }
                    div id="make-sheet" tabindex="0" role="group" aria-label="Sheet" {}
                }
            }
            details id="make-files" {
                summary { "Cutting data, solids and tables" }
                ul {}
            }
        }
    }
}

/// What was measured on the machine, and what that tells.
fn dial() -> Markup {
    html! {
        section id="dial" aria-label="Dial in" hidden {
            details id="rest" {
                summary { "How the machine stands (where a field is empty: as drawn)" }
                div class="fields" {}
            }
            form id="run" aria-label="Readings taken" {
                div class="heads" {
                    h2 { "Readings taken" }
                    label { "of " select name="reading" data-none="what is asked for" {} }
                    label { "over " select name="drive" data-none="its drive" {} }
                }
                div class="taken" { table {} }
                div class="fields" {
                    label { "Off by no more than" input name="uncertainty" required placeholder="0.01 mm" autocomplete="off"; }
                    label { "Zero of the indicator" select name="zero" {
                        option value="" { "unknown" }
                        option value="true" { "true" }
                        option value="kept" { "kept since the run before" }
                    } }
                    label { "It counts" select name="sense" {
                        option value="" { "with the reading" }
                        option value="opposite" { "against it" }
                    } }
                    label { "Zero of the drive off by no more than" input name="drive_zero" size="7" placeholder="true" autocomplete="off"; }
                    label { "Loaded" select name="under" data-none="not loaded" {} }
                    label { "Taken with" input name="with" autocomplete="off"; }
                    label { "On" input name="on" placeholder="2026-03-14" autocomplete="off"; }
                    label { "Or a table from a file" input type="file" name="file" accept=".csv,.tsv,.txt,text/csv"; }
                    button { "Write into the log" }
                }
            }
            details {
                summary { "A part measured" }
                form id="part-measured" class="fields" {
                    label { "Dimension" input name="dimension" required size="30" list="known" autocomplete="off"; }
                    datalist id="known" {}
                    label { "Value" input name="value" required size="10" placeholder="233.55 mm" autocomplete="off"; }
                    label { "Off by no more than" input name="uncertainty" required size="10" placeholder="0.02 mm" autocomplete="off"; }
                    label { "Taken with" input name="with" autocomplete="off"; }
                    label { "On" input name="on" placeholder="2026-03-14" autocomplete="off"; }
                    button { "Write into the log" }
                }
            }
            details {
                summary { "A job" }
                form id="job" {
                    div class="fields" {
                        label { "Called" input name="job" required size="24" placeholder="bridle leather, oak leaf die" autocomplete="off"; }
                        label { "On" input name="on" placeholder="2026-03-14" autocomplete="off"; }
                    }
                    div class="fields reads" role="group" aria-label="What it read" {}
                    div class="fields" {
                        label { "Off by no more than" input name="uncertainty" size="10" placeholder="0.02 mm" autocomplete="off"; }
                        button { "Write into the log" }
                    }
                }
            }
            p id="dial-say" role="status" hidden {}
            h2 { "As built" }
            div id="dial-plot" class="plot" {}
            pre id="dial-text" class="words" tabindex="0" {}
            form id="scale-form" aria-label="Scale" {
                div class="heads" {
                    h2 { "Scale" }
                    label { "on a " select name="laid" { option value="arc" { "flat plate" } option value="ring" { "ring" } option value="drum" { "drum" } } }
                    label { "radius " input name="radius" size="7" placeholder="90 mm" autocomplete="off"; }
                    label { "with the drive goes " select name="goes" { option value="" { "as usual" } option value="pointer" { "a pointer" } option value="scale" { "the scale" } } }
                    label { "come to a mark from " select name="coming" { option value="" { "either side" } option value="up" { "below" } option value="down" { "above" } } }
                    label { "strip " input name="strip" size="7" placeholder="0.1 mm" autocomplete="off"; }
                    label { "a mark every " input name="step" size="7" autocomplete="off"; }
                    button { "Lay out" }
                    span { "Take out " a data-file="scale.svg" download { "SVG" } " " a data-file="scale.dxf" download { "DXF" } " " a data-file="scale.csv" download { "CSV" } }
                }
            }
            div id="scale-plot" class="plot" {}
            pre id="scale-text" class="words" tabindex="0" {}
            p class="heads" role="group" aria-label="Steps of the log" {
                button id="log-undo" disabled { "Undo" }
                button id="log-redo" disabled { "Do again" }
            }
            details id="log" {
                summary { "The log: " span id="log-name" {} }
                textarea id="log-text" rows="24" spellcheck="false" autocapitalize="off" autocomplete="off" wrap="off" aria-label="Text of the log" aria-describedby="log-problems" {}
            }
            ul id="log-problems" {}
        }
    }
}

fn side() -> Markup {
    html! {
        aside {
            section id="picked" aria-label="Picked" hidden {}
            section id="readings" aria-label="Readings" { h2 { "Readings" } p hidden { "Nothing is measured yet: take Reading (G) and point at two points, or at one part twice for its turn." } dl {} }
            section id="settings" aria-label="Settings" hidden { h2 { "Settings" } div {} }
            section id="loads" aria-label="Load" hidden {
                h2 { "Load" }
                p hidden { label { "Under " select id="case" {} } }
                p { label { input type="checkbox" id="arrows" checked; "Forces at the pins" } }
                p { label { "Stretch drawn " input type="range" id="bend" min="0" max="200" step="10" value="0"; output for="bend" { "off" } } }
                h3 { "In the pose on show" }
                ul id="load-words" {}
            }
            section id="asks" aria-label="Asks" { h2 { "Asks" } ul {} }
            section id="findings" aria-label="Findings" { h2 { "Findings" } p class="count" aria-live="polite" {} ol {} }
            section id="variants" aria-label="Variants" {
                div class="heads" {
                    h2 { "Variants" }
                    input id="keep-as" size="12" maxlength="60" placeholder="date and time" autocomplete="off" aria-label="Name of the variant";
                    button id="keep" title="Keep the machine as it is now, to compare with" { "Keep this" }
                }
                ul {}
            }
            details id="file" {
                summary { "The file" span id="file-state" {} }
                div class="paper" {
                    pre id="under" aria-hidden="true" {}
                    textarea id="text" spellcheck="false" autocapitalize="off" autocomplete="off" wrap="off" aria-label="Text of the machine file" aria-describedby="problems" {}
                }
                ul id="problems" {}
            }
        }
    }
}

/// A name as one piece of a link.
fn escaped(name: &str) -> String {
    super::api::escaped(name)
}
