//! Whatever is written, reading ends with a machine or with problems that can be shown.

mod laws;
mod mutate;

#[test]
fn texts_with_slips_are_read_soundly() {
    let texts = mutate::texts();
    assert!(texts.len() > 20);
    for seed in 0..mutate::count(2000) {
        let text = mutate::mutated(&texts, &mut mutate::Dice::new(seed));
        let read = std::panic::catch_unwind(|| laws::sound(&machine::read_text("m.toml", &text)));
        assert!(read.is_ok(), "seed {seed}:\n{text}");
    }
}
