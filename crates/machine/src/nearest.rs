//! The name that was probably meant.

/// The candidate nearest to `name`, if one is near enough to be a slip of the pen: about one letter in three wrong, missing, too many,
/// or changed with its neighbour; or else another ending (`carry` for `carries`). Among equals the first one.
///
/// ```
/// assert_eq!(machine::nearest("lever-pni", ["knee", "lever-pin"]), Some("lever-pin"));
/// assert_eq!(machine::nearest("carry", ["joins", "carries"]), Some("carries"));
/// assert_eq!(machine::nearest("ram", ["knee", "lever-pin"]), None);
/// ```
pub fn nearest<'a>(name: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let wanted: Vec<char> = name.chars().flat_map(char::to_lowercase).collect();
    // Longer names than these are no slips of the pen, and their comparison would take long.
    if wanted.is_empty() || wanted.len() > 64 {
        return None;
    }
    let slip = wanted.len().max(3) / 3;
    let mut best: Option<(usize, &str)> = None;
    let mut other_ending: Option<(usize, &str)> = None;
    for candidate in candidates.into_iter().filter(|c| c.len() <= 256) {
        let other: Vec<char> = candidate.chars().flat_map(char::to_lowercase).collect();
        let same = wanted
            .iter()
            .zip(&other)
            .take_while(|(a, b)| a == b)
            .count();
        let longer = wanted.len().max(other.len());
        // Letters too many or too few bound the distance from below.
        let least = wanted.len().abs_diff(other.len());
        if least > slip && same < 4 {
            continue;
        }
        let d = distance(&wanted, &other);
        // A name with nothing in common is no suggestion, however short.
        if d <= slip && d < longer && best.is_none_or(|(b, _)| d < b) {
            best = Some((d, candidate));
        }
        if same >= 4 && 2 * d <= longer && other_ending.is_none_or(|(b, _)| d < b) {
            other_ending = Some((d, candidate));
        }
    }
    best.or(other_ending).map(|(_, candidate)| candidate)
}

/// Least number of letters to change, leave out, put in or swap with the next one (optimal string alignment).
fn distance(a: &[char], b: &[char]) -> usize {
    let width = b.len() + 1;
    let mut before = vec![0; width];
    let mut last: Vec<usize> = (0..width).collect();
    for (i, &x) in a.iter().enumerate() {
        let mut row = Vec::with_capacity(width);
        row.push(i + 1);
        for (j, &y) in b.iter().enumerate() {
            let mut d = (last[j] + usize::from(x != y))
                .min(last[j + 1] + 1)
                .min(row[j] + 1);
            if i > 0 && j > 0 && x == b[j - 1] && a[i - 1] == y {
                d = d.min(before[j - 1] + 1);
            }
            row.push(d);
        }
        before = std::mem::replace(&mut last, row);
    }
    last.last().copied().unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slips_of_the_pen_are_found() {
        let names = ["lever-pin", "lever-pivot", "knee-pivot", "knee"];
        assert_eq!(nearest("lever-pni", names), Some("lever-pin"));
        assert_eq!(nearest("Lever-Pin", names), Some("lever-pin"));
        assert_eq!(nearest("leverpivot", names), Some("lever-pivot"));
        assert_eq!(nearest("kne", names), Some("knee"));
        assert_eq!(nearest("ram-pin", names), None);
        assert_eq!(nearest("", names), None);
    }

    #[test]
    fn swapped_neighbours_count_once() {
        let d = |a: &str, b: &str| {
            distance(
                &a.chars().collect::<Vec<_>>(),
                &b.chars().collect::<Vec<_>>(),
            )
        };
        assert_eq!(d("reach", "raech"), 1);
        assert_eq!(d("", "abc"), 3);
        assert_eq!(d("kitten", "sitting"), 3);
    }
}
