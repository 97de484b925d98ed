//! Which other days of a folder a record can be set beside, the likeliest first: the last one before it of the same
//! pasteurizer on which the same product went forward.

use crate::entry::Entry;
use case::ProductName;
use std::cmp::Reverse;
use std::path::PathBuf;

/// Another day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Comparable {
    /// Its place among the entries.
    pub place: usize,
    /// Whether the product went forward on it.
    pub has_product: bool,
}

/// The other days than that of the record of these files, the likeliest first; what can't be read is left out.
pub fn comparable(entries: &[Entry], files: &[PathBuf], product: &ProductName) -> Vec<Comparable> {
    let own = entries.iter().find(|entry| entry.files == files);
    let readable = entries.iter().enumerate().filter_map(|(place, entry)| {
        let day = entry.day.as_ref().ok()?;
        if entry.files == files {
            return None;
        }
        let has_product = if day.runs.is_empty() {
            product.is_blank() && day.forward_ms > 0
        } else {
            let mut runs = day.runs.iter();
            runs.any(|run| run.forward_ms > 0 && ProductName::new(&run.product) == *product)
        };
        let is_before = own.is_some_and(|own| {
            own.unit() == entry.unit()
                && own.day.as_ref().is_ok_and(|own| day.ends_ms.0 < own.ends_ms.0)
        });
        let rank = (!(has_product && is_before), !has_product, Reverse(day.ends_ms.0));
        Some((rank, Comparable { place, has_product }))
    });
    let mut found: Vec<_> = readable.collect();
    found.sort_by_key(|(rank, _)| *rank);
    found.into_iter().map(|(_, one)| one).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::summary_tests::{record, run};

    fn entry(on: &str, products: &[&str]) -> Entry {
        let runs = products.iter().map(|product| run(product, "L-01")).collect();
        let mut entry = record(on, runs, Vec::new(), &[]);
        entry.files = vec![format!("{on}.csv").into()];
        entry
    }

    /// The dates in the order in which they are offered, those with the product first.
    fn offered(entries: &[Entry], on: &str, product: &str) -> Vec<(String, bool)> {
        let files = [PathBuf::from(format!("{on}.csv"))];
        let found = comparable(entries, &files, &ProductName::new(product));
        let date =
            |place: usize| entries[place].date().map_or_else(String::new, |one| one.to_string());
        found.into_iter().map(|one| (date(one.place), one.has_product)).collect()
    }

    #[test]
    fn the_last_day_before_with_the_same_product_comes_first() {
        let mut cream = entry("2026-03-08", &["cream"]);
        let Ok(day) = &mut cream.day else { panic!("it can be read") };
        day.runs[0].forward_ms = 0;
        let mut unread = entry("2026-03-07", &["cream"]);
        unread.day = Err("no trace".to_owned());
        let mut elsewhere = entry("2026-03-06", &["cream"]);
        let Ok(day) = &mut elsewhere.day else { panic!("it can be read") };
        "HTST-2".clone_into(&mut day.subject.unit);
        let entries = vec![
            entry("2026-03-03", &["Cream ", "milk"]),
            entry("2026-03-04", &["milk", "CREAM"]),
            entry("2026-03-05", &["milk"]),
            elsewhere,
            unread,
            cream,
            entry("2026-03-10", &["milk", "cream"]),
            entry("2026-03-12", &["cream"]),
        ];
        let wanted = [
            ("2026-03-04", true),
            ("2026-03-03", true),
            // Later, or of another pasteurizer.
            ("2026-03-12", true),
            ("2026-03-06", true),
            // It did not go forward, or did not run.
            ("2026-03-08", false),
            ("2026-03-05", false),
        ];
        let wanted = wanted.map(|(date, has)| (date.to_owned(), has));
        assert_eq!(offered(&entries, "2026-03-10", "cream"), wanted);
        assert_eq!(offered(&entries, "2026-03-03", "cream")[0].0, "2026-03-12", "none is before");
        assert!(offered(&entries[..1], "2026-03-03", "cream").is_empty());
    }

    #[test]
    fn a_record_that_names_no_product_is_beside_those_that_name_none() {
        let mut still = entry("2026-03-09", &[]);
        let Ok(day) = &mut still.day else { panic!("it can be read") };
        day.forward_ms = 0;
        let entries = vec![
            entry("2026-03-05", &[]),
            still,
            entry("2026-03-10", &[]),
            entry("2026-03-04", &["milk"]),
        ];
        let found = offered(&entries, "2026-03-10", "");
        assert_eq!(found.iter().map(|(_, has)| *has).collect::<Vec<_>>(), [true, false, false]);
        assert_eq!(found[0].0, "2026-03-05");
    }
}
