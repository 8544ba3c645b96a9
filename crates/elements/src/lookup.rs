//! Reading between the rows of a table.

/// The values of a table at `x`: between two rows on a straight line over `scale(x)`, at the ends those of the end
/// rows. Rows rise in `x`.
pub(crate) fn between<const N: usize>(
    rows: &[(f64, [f64; N])],
    x: f64,
    scale: fn(f64) -> f64,
) -> [f64; N] {
    let Some(first) = rows.first() else {
        return [0.0; N];
    };
    let mut before = first;
    for row in rows {
        if x <= row.0 {
            let span = scale(row.0) - scale(before.0);
            let t = if span == 0.0 || x <= first.0 {
                0.0
            } else {
                (scale(x) - scale(before.0)) / span
            };
            let mut values = before.1;
            for (value, end) in values.iter_mut().zip(row.1) {
                *value += t * (end - *value);
            }
            return values;
        }
        before = row;
    }
    before.1
}

/// Straight over x itself.
pub(crate) fn linear(x: f64) -> f64 {
    x
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_between_and_ends() {
        let rows = [(1.0, [10.0, 0.0]), (2.0, [20.0, 1.0]), (4.0, [30.0, 3.0])];
        assert_eq!(between(&rows, 0.5, linear), [10.0, 0.0]);
        assert_eq!(between(&rows, 1.0, linear), [10.0, 0.0]);
        assert_eq!(between(&rows, 1.5, linear), [15.0, 0.5]);
        assert_eq!(between(&rows, 3.0, linear), [25.0, 2.0]);
        assert_eq!(between(&rows, 9.0, linear), [30.0, 3.0]);
        // Half way over the logarithm lies at the geometric mean.
        assert!((between(&rows, 8f64.sqrt(), f64::ln)[0] - 25.0).abs() < 1e-12);
        assert_eq!(between::<1>(&[], 1.0, linear), [0.0]);
    }
}
