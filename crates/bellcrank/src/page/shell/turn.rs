//! The whole turn of a drive, two drives at once, and where parts meet.

use maud::{Markup, html};

/// The sections of the view.
pub(super) fn turn() -> Markup {
    html! {
        section id="turn" aria-label="Whole turn" hidden {
            form id="turn-form" class="heads" autocomplete="off" {
                h2 { "Whole turn" }
                label { "over " select id="turn-drive" name="drive" {} }
                label { "of " select id="turn-reading" name="reading" {} }
                label { "speed " input name="speed" size="8" title="How fast the drive goes; empty: as the file says"; }
                label { "case " select id="turn-case" name="case" {} }
                label { "rests within " input name="within" size="8" placeholder="0.05 mm" title="A reading rests while it stays this near to its end"; }
                label { "unevenness " input name="unevenness" size="6" placeholder="2 %" title="Greatest less least speed over their mean, that a fly-wheel is to leave"; }
                label { "in time " select name="run" title="Motors, pushes and friction of the file move it in time" {
                    option value="" { "not run" }
                    option value="started" { "started" }
                    option value="let-go" { "let go" }
                } }
                label hidden { "from " input name="from" size="7" placeholder="rest" title="How fast it goes when the run begins"; }
                label hidden { "standing at " input name="start" size="7" placeholder="as drawn" title="Where the drive stands when the run begins"; }
            }
            p id="turn-wrong" class="wrong" role="alert" hidden {}
            ul id="turn-findings" class="found" {}
            div id="turn-plots" class="plots" {}
            details id="turn-figures" class="figures" { summary { "The same in figures" } pre id="turn-text" class="words" tabindex="0" aria-label="The whole turn in figures" {} }
        }
        section id="two" aria-label="Two drives" hidden {
            div class="heads" {
                h2 { "Two drives" }
                label { "and " select id="two-by" {} }
            }
            div id="two-plots" class="plots" {}
            details id="two-figures" class="figures" { summary { "The same in figures" } pre id="two-text" class="words" tabindex="0" aria-label="Two drives in figures" {} }
        }
        section id="meet" aria-label="Where parts meet" hidden {
            div class="heads" {
                h2 { "Where parts meet" }
                button id="meet-ask" title="Outlines of the parts over the whole range of the drives" { "Look for it" }
            }
            ul id="meet-list" class="found" aria-live="polite" {}
            ul id="meet-findings" class="found" {}
            details id="meet-all" class="figures" hidden { summary { "The same in figures" } pre id="meet-text" class="words" tabindex="0" aria-label="Where parts meet in figures" {} }
        }
    }
}
