//! Any text, read as every kind of quantity and as a thread.
#![no_main]

#[path = "../../crates/quantity/tests/laws/mod.rs"]
mod laws;

libfuzzer_sys::fuzz_target!(|text: &str| laws::hold(text));
