//! Replays the texts that fuzzing starts from and those it found.

use crate::laws;
use std::path::Path;

#[test]
fn the_corpus_holds() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fuzz/corpus/quantity");
    let mut count = 0;
    for entry in std::fs::read_dir(folder).expect("the corpus is in its folder") {
        let path = entry.expect("a file of the corpus").path();
        let bytes = std::fs::read(&path).expect("a file of the corpus can be read");
        // A file of the corpus is any bytes; only whole texts ever reach the reader.
        laws::hold(&String::from_utf8_lossy(&bytes));
        count += 1;
    }
    assert!(count >= 40, "only {count} files: is the corpus there?");
}

#[test]
fn long_texts_are_read_in_good_time() {
    let megabyte = 1 << 20;
    for piece in [
        "1", "0.", "½", "-", "(", "1/", " ", "°", "#", "M", "1 ", "mm",
    ] {
        laws::hold(&piece.repeat(megabyte / piece.len()));
    }
}
