//! Any bytes, read as a machine file and every problem shown.
#![no_main]

#[path = "../../crates/machine/tests/laws/mod.rs"]
mod laws;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    laws::sound(&machine::read_text("fuzz.toml", &String::from_utf8_lossy(bytes)));
});
