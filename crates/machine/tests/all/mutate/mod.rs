//! Machine files as a slip of the hand or a broken disk leaves them: texts of the project with pieces changed, the same for the same
//! seed.

use std::path::{Path, PathBuf};

/// Words and numbers that a text may get in the wrong place.
const WORDS: [&str; 30] = [
    "0",
    "-1",
    "1e300",
    "-1e-300",
    "nan",
    "inf",
    "\"0 mm\"",
    "\"90 deg\"",
    "\"-40 mm\"",
    "\"1/0 in\"",
    "[",
    "]",
    "{",
    "}",
    "=",
    ",",
    "\"",
    "#",
    "\n",
    "[frame]\n",
    "[point]\n",
    "[[part]]\n",
    "\u{0}",
    "\u{feff}",
    "\u{e4}",
    "carries = []\n",
    "\"whole turn\"",
    "\"up\"",
    "\"frame\"",
    "true",
];

/// Linear congruential (Knuth, MMIX): good enough to choose places.
pub(crate) struct Dice(u64);

impl Dice {
    pub(crate) fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }

    pub(crate) fn below(&mut self, n: usize) -> usize {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as usize % n.max(1)
    }
}

/// All machine files of the project that are not too long: good ones, and those kept for their faults.
pub(crate) fn texts() -> Vec<String> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let mut folders = vec![
        root.join("examples"),
        root.join("tests"),
        root.join("fuzz/corpus/machine_file"),
    ];
    let mut files: Vec<PathBuf> = Vec::new();
    while let Some(folder) = folders.pop() {
        let Ok(entries) = std::fs::read_dir(&folder) else {
            continue;
        };
        for entry in entries.flatten() {
            let path = entry.path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|e| e == "toml") {
                files.push(path);
            }
        }
    }
    files.sort();
    let texts = files.iter().filter_map(|f| std::fs::read_to_string(f).ok());
    texts.filter(|t| t.len() < 20_000).collect()
}

/// One of the texts with some pieces changed.
pub(crate) fn mutated(texts: &[String], dice: &mut Dice) -> String {
    let mut text: Vec<char> = texts[dice.below(texts.len())].chars().collect();
    for _ in 0..=dice.below(4) {
        let at = dice.below(text.len() + 1);
        let end = (at + 1 + dice.below(24)).min(text.len());
        match dice.below(7) {
            0 => drop(text.drain(at.min(end)..end)),
            1 => {
                let piece: Vec<char> = text[at.min(end)..end].to_vec();
                let to = dice.below(text.len() + 1);
                text.splice(to..to, piece);
            }
            2 => {
                let word = WORDS[dice.below(WORDS.len())];
                text.splice(at..at, word.chars());
            }
            3 => {
                // A number becomes another.
                let digits: Vec<usize> = (0..text.len())
                    .filter(|&i| text[i].is_ascii_digit())
                    .collect();
                if let Some(&i) = digits.get(dice.below(digits.len())) {
                    text[i] = char::from(b'0' + dice.below(10) as u8);
                }
            }
            4 => {
                let other: Vec<char> = texts[dice.below(texts.len())].chars().collect();
                let from = dice.below(other.len() + 1);
                let to = (from + dice.below(80)).min(other.len());
                text.splice(at..at, other[from..to].iter().copied());
            }
            5 => {
                // A name becomes another name of the text.
                let whole: String = text.iter().collect();
                let names: Vec<&str> = whole.split('"').skip(1).step_by(2).collect();
                if let (Some(a), Some(b)) = (
                    names.get(dice.below(names.len())),
                    names.get(dice.below(names.len())),
                ) {
                    text = whole
                        .replacen(&format!("\"{a}\""), &format!("\"{b}\""), 1)
                        .chars()
                        .collect();
                }
            }
            _ => {
                // A line goes, or stands elsewhere.
                let whole: String = text.iter().collect();
                let mut lines: Vec<&str> = whole.lines().collect();
                if !lines.is_empty() {
                    let line = lines.remove(dice.below(lines.len()));
                    if dice.below(2) == 0 {
                        lines.insert(dice.below(lines.len() + 1), line);
                    }
                    text = lines.join("\n").chars().collect();
                }
            }
        }
    }
    text.into_iter().collect()
}

/// So many texts are tried: few with every test, more when asked for (`MUTATIONS=1000000 cargo test --test mutated`).
pub(crate) fn count(few: u64) -> u64 {
    let asked = std::env::var("MUTATIONS").ok();
    asked.and_then(|n| n.parse().ok()).unwrap_or(few)
}
