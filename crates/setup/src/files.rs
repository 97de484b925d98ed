//! What the names of several loggers' files say: what each logger is called, and how its files are, with one `*`
//! for the date. Names that leave open what differs from day to day say nothing.

use crate::draft::DraftLogger;
use crate::forms::{rising, said_start, says_since, unit_of};
use crate::sheets::{SeenLogger, Sheets};
use plant::FilePattern;
use trace::file_name;

/// A date has at least so many digits: 260304.
const DIGITS_OF_A_DATE: usize = 6;

/// What a draft says of its loggers to begin with.
pub(crate) fn loggers(sheets: &Sheets) -> Vec<DraftLogger> {
    let patterns = patterns(sheets);
    let mut names: Vec<String> = Vec::new();
    for (place, logger) in sheets.loggers.iter().enumerate() {
        let name = patterns.as_ref().and_then(|patterns| patterns.get(place));
        let name = name.map_or_else(|| stem(first(logger)), |pattern| stem(pattern));
        let is_new =
            !name.is_empty() && !names.iter().any(|known| known.eq_ignore_ascii_case(&name));
        names.push(if is_new { name } else { format!("logger {}", place + 1) });
    }
    let drafted = names.into_iter().enumerate().map(|(place, name)| {
        let since: Vec<_> = rising(sheets, place)
            .into_iter()
            .filter_map(|column| sheets.columns.get(column))
            .filter(|column| says_since(column))
            .collect();
        let since = match since.as_slice() {
            [only] => unit_of(only),
            _ => None,
        };
        let files = patterns.as_ref().and_then(|patterns| patterns.get(place));
        DraftLogger {
            name,
            files: files.cloned().unwrap_or_default(),
            since,
            start: said_start(sheets, place),
            ..DraftLogger::default()
        }
    });
    drafted.collect()
}

/// The patterns of the loggers' files; `None` where the names do not tell them.
fn patterns(sheets: &Sheets) -> Option<Vec<String>> {
    if !sheets.are_several() {
        return None;
    }
    let patterns = sheets.loggers.iter().map(|logger| pattern(first(logger)));
    let patterns: Vec<(String, String)> = patterns.collect::<Option<_>>()?;
    let (_, date) = patterns.first()?;
    let is_one_day = patterns.iter().all(|(_, other)| other == date);
    let patterns: Vec<String> = patterns.iter().map(|(pattern, _)| pattern.clone()).collect();
    (is_one_day && are_apart(sheets, &patterns)).then_some(patterns)
}

/// Whether each file is called as those of its logger and of no other.
pub(crate) fn are_apart(sheets: &Sheets, patterns: &[String]) -> bool {
    let known: Option<Vec<FilePattern>> =
        patterns.iter().map(|one| FilePattern::new(one)).collect();
    let Some(known) = known else { return false };
    sheets.loggers.iter().enumerate().all(|(place, logger)| {
        logger.files.iter().all(|file| {
            let fits =
                |(_, pattern): &(usize, &FilePattern)| pattern.day(file_name(file)).is_some();
            let mut fitting = known.iter().enumerate().filter(fits);
            fitting.next().is_some_and(|(only, _)| only == place) && fitting.next().is_none()
        })
    })
}

/// The name of a file with a `*` for the only date in it, and the date.
fn pattern(file: &str) -> Option<(String, String)> {
    let is_of_date = |one: char| one.is_ascii_digit() || "-_.".contains(one);
    let mut at = 0;
    let mut dates = file.split(|one: char| !is_of_date(one)).filter_map(|run| {
        let is_behind_a_letter = file[..at].ends_with(char::is_alphabetic);
        let end = at + run.len();
        at = end + file[end..].chars().next().map_or(0, char::len_utf8);
        // `line1-` counts lines: a year has four digits.
        let digits = run.find(|one: char| !one.is_ascii_digit()).unwrap_or(run.len());
        let run = if is_behind_a_letter && digits < 4 { &run[digits..] } else { run };
        let date = run.trim_matches(|one: char| !one.is_ascii_digit());
        let count = date.chars().filter(char::is_ascii_digit).count();
        (count >= DIGITS_OF_A_DATE).then_some(date)
    });
    let (date, None) = (dates.next()?, dates.next()) else { return None };
    let (before, after) = file.split_once(date)?;
    let pattern = format!("{before}*{after}");
    FilePattern::new(&pattern)?;
    Some((pattern, date.to_owned()))
}

/// What is left of a name without its endings, the place of the date and what stands around that.
fn stem(name: &str) -> String {
    let name = name.split('.').next().unwrap_or(name);
    let parts = name.split('*').map(|part| part.trim_matches(|one: char| !one.is_alphanumeric()));
    parts.filter(|part| !part.is_empty()).collect::<Vec<_>>().join(" ")
}

fn first(logger: &SeenLogger) -> &str {
    logger.files.first().map_or("", |file| file_name(file))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_date_in_a_name_is_what_differs() {
        for (file, expected) in [
            ("2026-03-04-controller.csv", Some(("*-controller.csv", "2026-03-04"))),
            ("line1_20260304.csv", Some(("line1_*.csv", "20260304"))),
            ("pressures.csv", None),
            ("20260304-20260305.csv", Some(("*.csv", "20260304-20260305"))),
            ("20260304 to 20260305.csv", None),
            ("08.03.2026 holding.csv.gz", Some(("* holding.csv.gz", "08.03.2026"))),
        ] {
            let found = pattern(file);
            let found = found.as_ref().map(|(pattern, date)| (pattern.as_str(), date.as_str()));
            assert_eq!(found, expected, "{file}");
        }
        assert_eq!(stem("*-controller.csv"), "controller");
        assert_eq!(stem("line1_*.csv.gz"), "line1");
    }
}
