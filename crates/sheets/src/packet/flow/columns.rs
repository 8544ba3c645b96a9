//! Columns of tables: as wide as makes their rows least tall.

use super::{Column, PAD, TEXT};
use crate::font;
use crate::sheet::Hand;

/// Words of a cell, a list for each line that is asked for, with their widths, mm.
fn measured(text: &str, hand: Hand) -> Vec<Vec<f64>> {
    let words = |line: &str| {
        let all = line.split(' ').filter(|w| !w.is_empty());
        all.map(|w| font::width(w, TEXT, hand)).collect()
    };
    text.split('\n').map(words).collect()
}

/// How many lines words take in a width.
fn lines_of(words: &[f64], space: f64, room: f64) -> usize {
    let (mut lines, mut at) = (1, 0.0);
    for &w in words {
        if at == 0.0 {
            at = w;
        } else if at + space + w <= room {
            at += space + w;
        } else {
            lines += 1;
            at = w;
        }
    }
    lines
}

/// Widths of columns with which the rows are least tall: room goes from column to column as long as that saves lines.
pub(super) fn fitted(columns: &[Column], rows: &[Vec<String>], width: f64) -> Vec<f64> {
    let total: f64 = columns.iter().map(|c| c.share).sum();
    let mut widths: Vec<f64> = columns.iter().map(|c| c.share / total * width).collect();
    let hand = |n: usize| if n == 0 { Hand::Name } else { Hand::Note };
    let space = [Hand::Name, Hand::Note].map(|h| font::width(" ", TEXT, h));
    let cells: Vec<Vec<Vec<Vec<f64>>>> = rows
        .iter()
        .map(|r| {
            let each = r.iter().enumerate();
            each.map(|(n, text)| measured(text, hand(n))).collect()
        })
        .collect();
    // No column is narrower than its head or its longest word.
    let least: Vec<f64> = columns
        .iter()
        .enumerate()
        .map(|(n, c)| {
            let words = cells.iter().filter_map(|r| r.get(n)).flatten().flatten();
            let longest = words.fold(0.0_f64, |m, w| m.max(*w));
            longest.max(font::width(c.head, TEXT, Hand::Name)) + PAD
        })
        .collect();
    for n in 0..widths.len() {
        let need = least[n] - widths[n];
        let spare = |i: usize, widths: &[f64]| widths[i] - least[i];
        let from =
            (0..widths.len()).max_by(|&a, &b| spare(a, &widths).total_cmp(&spare(b, &widths)));
        if let Some(from) = from
            && need > 0.0
            && spare(from, &widths) > need
        {
            widths[from] -= need;
            widths[n] += need;
        }
    }
    let tall = |widths: &[f64]| -> usize {
        let row = |cells: &Vec<Vec<Vec<f64>>>| {
            let count = |(n, cell): (usize, &Vec<Vec<f64>>)| -> usize {
                let room = widths[n] - PAD;
                let each = cell.iter().map(|l| lines_of(l, space[n.min(1)], room));
                each.sum()
            };
            let one = cells.iter().enumerate().take(widths.len()).map(count);
            one.max().unwrap_or(1)
        };
        cells.iter().map(row).sum()
    };
    let mut now = tall(&widths);
    for step in [8.0, 4.0, 2.0] {
        let mut better = true;
        while better {
            better = false;
            let mut best: Option<(usize, Vec<f64>)> = None;
            for from in 0..widths.len() {
                if widths[from] - step < least[from] {
                    continue;
                }
                for to in (0..widths.len()).filter(|&to| to != from) {
                    let mut tried = widths.clone();
                    tried[from] -= step;
                    tried[to] += step;
                    let t = tall(&tried);
                    if t < best.as_ref().map_or(now, |b| b.0) {
                        best = Some((t, tried));
                    }
                }
            }
            if let Some((t, tried)) = best {
                (now, widths, better) = (t, tried, true);
            }
        }
    }
    widths
}

pub(super) fn cells(row: &[String], widths: &[f64]) -> Vec<Vec<String>> {
    row.iter()
        .zip(widths)
        .enumerate()
        .map(|(n, (text, w))| {
            let hand = if n == 0 { Hand::Name } else { Hand::Note };
            broken(text, w - PAD, hand)
        })
        .collect()
}

pub(super) fn row_height(cells: &[Vec<String>]) -> f64 {
    let tall = cells.iter().map(Vec::len).max().unwrap_or(1).max(1);
    tall as f64 * (font::pitch(TEXT) + 0.3) + 1.0
}

/// Lines no wider than `room`; a word that is wider is broken, and a new line in the text is kept.
pub(super) fn broken(text: &str, room: f64, hand: Hand) -> Vec<String> {
    let mut all = Vec::new();
    let lines = text
        .split('\n')
        .flat_map(|t| font::wrapped(&font::clean(t), TEXT, hand, room));
    for line in lines {
        let mut rest = line;
        while font::width(&rest, TEXT, hand) > room {
            let mut cut = rest.clone();
            while cut.chars().count() > 1 && font::width(&cut, TEXT, hand) > room {
                cut.pop();
            }
            let after = rest.split_off(cut.len());
            rest = after;
            all.push(cut);
        }
        all.push(rest);
    }
    all
}
