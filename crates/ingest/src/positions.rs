//! Whether the files of a record tell where the flow diversion device is.
//!
//! A record in which most positions are words that nobody mapped is no record of a device that was never
//! seen: it is a plant file that lacks a line. It is refused with the words and with what to write.

use crate::body::FileRows;
use crate::error::Error;
use crate::words::{Word, Words};
use trace::Role;

/// So many words are shown in a message.
const MOST_WORDS: usize = 10;

/// Refuses files of which no row has a word that is known, or most have one that is not.
pub(crate) fn check_positions(files: &[FileRows]) -> Result<(), Error> {
    check(files, Role::Valve, |file| file.valve_words.get(&Role::Valve))?;
    for role in [Role::ValveForward, Role::ValveDivert] {
        check(files, role, |file| file.switch_words.get(&role))?;
    }
    Ok(())
}

fn check<T>(
    files: &[FileRows],
    role: Role,
    words: impl Fn(&FileRows) -> Option<&Words<T>>,
) -> Result<(), Error>
where
    T: Copy,
{
    let has = |file: &&FileRows| !file.rows.is_empty() && words(file).is_some();
    let Some(first) = files.iter().find(has) else { return Ok(()) };
    let seen = || files.iter().filter_map(&words).flat_map(Words::seen);
    let rows = |wanted: fn(&Word<T>) -> bool| -> u64 {
        seen().filter(|word| wanted(word)).map(|word| word.rows.count).sum()
    };
    let known = rows(|word| word.meaning.is_some());
    let unmapped = rows(|word| word.meaning.is_none() && !word.text.is_empty());
    if known > 0 && unmapped * 2 <= rows(|_| true) {
        return Ok(());
    }
    let mut unknown: Vec<(&str, u64)> = Vec::new();
    for word in seen().filter(|word| word.meaning.is_none()) {
        let has_room = unknown.len() < MOST_WORDS;
        match unknown.iter_mut().find(|(known, _)| *known == word.text) {
            Some((_, rows)) => *rows += word.rows.count,
            None if has_room => unknown.push((&word.text, word.rows.count)),
            None => {}
        }
    }
    let shown = |(word, rows): &(&str, u64)| {
        let shown: String = word.chars().take(40).collect();
        format!("{shown:?} in {rows} rows")
    };
    let column = first.columns.roles.get(&role).copied().unwrap_or_default();
    Err(Error::UnknownPositions {
        file: first.name.to_string(),
        line: first.lines.of(0),
        column: (column + 1, first.names.get(column).cloned().unwrap_or_default()),
        words: unknown.iter().map(shown).collect(),
        others: if first.columns.by_name { ", with the other columns" } else { "" },
    })
}
