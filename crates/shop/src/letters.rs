//! Letters of holes, the same on drawing, template, tables and operation sheet: like holes share a letter and are counted.

use crate::part::{Hole, Plate};

/// `A`, `B` … `Z`, `AA`.
pub fn letter(n: usize) -> String {
    let c = |n: usize| char::from(b'A' + (n % 26) as u8);
    if n < 26 {
        c(n).to_string()
    } else {
        format!("{}{}", c(n / 26 - 1), c(n))
    }
}

/// `B1 to B5`, or every letter.
pub(crate) fn spanned(group: &[(&Hole, &str)]) -> String {
    let mut all: Vec<&str> = group.iter().map(|g| g.1).collect();
    all.sort_by_key(|l| (l.len(), *l));
    // Letters of one family, numbered without a gap, are a span; all others are named.
    let number = |l: &str| {
        let digits = l.trim_start_matches(|c: char| !c.is_ascii_digit());
        let family = l.strip_suffix(digits).unwrap_or(l);
        digits.parse::<u32>().ok().map(|n| (family.to_owned(), n))
    };
    let numbers: Option<Vec<(String, u32)>> = all.iter().map(|l| number(l)).collect();
    let runs = numbers.is_some_and(|n| {
        n.windows(2)
            .all(|w| w[0].0 == w[1].0 && w[1].1 == w[0].1 + 1)
    });
    match all.as_slice() {
        [first, .., last] if all.len() > 2 && runs => format!("{first} to {last}"),
        [but @ .., last] if !but.is_empty() => format!("{} and {last}", but.join(", ")),
        many => many.join(""),
    }
}

/// Kinds of holes: index of its kind for every hole, and the first hole of each kind.
pub fn kinds(p: &Plate) -> (Vec<usize>, Vec<usize>) {
    let mut firsts: Vec<usize> = Vec::new();
    let of = p.holes.iter().enumerate().map(|(i, h)| {
        let same = |f: &usize| {
            let g = &p.holes[*f];
            g.fitted == h.fitted
                && g.blind == h.blind
                && g.counterbore == h.counterbore
                && g.countersink == h.countersink
                && g.sink == h.sink
                && g.back == h.back
                && g.place == h.place
        };
        firsts.iter().position(same).unwrap_or_else(|| {
            firsts.push(i);
            firsts.len() - 1
        })
    });
    let of: Vec<usize> = of.collect();
    (of, firsts)
}

/// The letter of each hole: `A1`, `A2`, `B`.
pub fn names(p: &Plate) -> Vec<String> {
    let (of, firsts) = kinds(p);
    let mut seen = vec![0; firsts.len()];
    let count = |k: usize| of.iter().filter(|o| **o == k).count();
    of.iter()
        .map(|&k| {
            seen[k] += 1;
            if count(k) > 1 {
                format!("{}{}", letter(k), seen[k])
            } else {
                letter(k)
            }
        })
        .collect()
}
