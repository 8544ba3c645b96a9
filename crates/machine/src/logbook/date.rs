//! Days of the calendar.

use schemars::JsonSchema;
use serde::Serialize;

/// A day, Gregorian.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
pub struct Date {
    /// Year, 1900 to 2999.
    pub year: i32,
    /// Month from 1.
    pub month: u8,
    /// Day from 1.
    pub day: u8,
}

impl Date {
    /// From a text like `2026-03-14`; none when it is no day.
    pub fn parse(text: &str) -> Option<Self> {
        let mut parts = text.trim().split('-');
        let (y, m, d) = (parts.next()?, parts.next()?, parts.next()?);
        if parts.next().is_some() || [y.len(), m.len(), d.len()] != [4, 2, 2] {
            return None;
        }
        let digits = |t: &str| t.bytes().all(|b| b.is_ascii_digit());
        if ![y, m, d].into_iter().all(digits) {
            return None;
        }
        let (year, month, day) = (y.parse().ok()?, m.parse().ok()?, d.parse().ok()?);
        let leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
        let days = match month {
            4 | 6 | 9 | 11 => 30,
            2 if leap => 29,
            2 => 28,
            1..=12 => 31,
            _ => 0,
        };
        ((1900..3000).contains(&year) && (1..=days).contains(&day)).then_some(Self {
            year,
            month,
            day,
        })
    }

    /// Days since 1 March of the year 0, for differences.
    ///
    /// Source: the usual count of a Gregorian year that begins in March (common practice).
    pub fn number(self) -> i64 {
        let before_march = self.month < 3;
        let y = i64::from(self.year) - i64::from(before_march);
        let m = i64::from(self.month) + if before_march { 9 } else { -3 };
        365 * y + y.div_euclid(4) - y.div_euclid(100)
            + y.div_euclid(400)
            + (153 * m + 2) / 5
            + i64::from(self.day)
            - 1
    }

    /// The day so many days later (or earlier).
    #[must_use]
    pub fn after(self, days: i64) -> Self {
        let n = self.number() + days;
        // The year is at most one off the guess.
        let guess = (n as f64 / 365.2425).floor() as i64;
        let start = |y: i64| 365 * y + y.div_euclid(4) - y.div_euclid(100) + y.div_euclid(400);
        let mut y = guess;
        while start(y) > n {
            y -= 1;
        }
        while start(y + 1) <= n {
            y += 1;
        }
        let of_year = n - start(y);
        let m = (5 * of_year + 2) / 153;
        let day = of_year - (153 * m + 2) / 5 + 1;
        let (month, year) = if m < 10 { (m + 3, y) } else { (m - 9, y + 1) };
        Self {
            year: year as i32,
            month: month as u8,
            day: day as u8,
        }
    }
}

impl std::fmt::Display for Date {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{:04}-{:02}-{:02}", self.year, self.month, self.day)
    }
}

#[cfg(test)]
mod tests {
    use super::Date;

    #[test]
    fn days_are_counted() {
        let d = |t: &str| Date::parse(t).map(Date::number);
        let between = |a, b| Some(d(b)? - d(a)?);
        assert_eq!(between("2026-03-14", "2026-03-15"), Some(1));
        assert_eq!(between("2024-02-28", "2024-03-01"), Some(2));
        assert_eq!(between("2023-12-31", "2024-12-31"), Some(366));
        assert_eq!(between("1900-02-28", "1900-03-01"), Some(1));
        // Modified Julian day 60000 was 25 February 2023, 59580 was 1 January 2022.
        assert_eq!(between("2022-01-01", "2023-02-25"), Some(420));
    }

    #[test]
    fn no_day_is_refused() {
        for wrong in [
            "",
            "2026",
            "2026-13-01",
            "2026-02-29",
            "26-02-01",
            "2026-2-1",
            "2026-04-31",
            "2026-03-14T",
            "-2026-03-1",
            "+026-03-14",
        ] {
            assert_eq!(Date::parse(wrong), None, "{wrong}");
        }
    }

    #[test]
    fn counting_on_comes_back() {
        let start = Date::parse("2019-01-01");
        for days in 0..4000 {
            let later = start.map(|s| s.after(days));
            assert_eq!(later.map(Date::number), start.map(|s| s.number() + days));
            assert_eq!(later.and_then(|l| Date::parse(&l.to_string())), later);
        }
    }
}
