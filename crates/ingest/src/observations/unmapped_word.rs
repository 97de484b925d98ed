//! Words that stand for no position and no state.

use super::{Notes, ONE_BY_ONE};
use crate::words::Words;
use trace::{FigureKind, Definition, Rank, Role, Value};

pub(super) const DEFINITION: Definition = Definition {
    key: "unmapped_word",
    title: "unknown word",
    rank: Rank::Note,
    figures: &[("word", FigureKind::Word), ("state", FigureKind::Word), ("rows", FigureKind::Count), ("key", FigureKind::Word), ("words", FigureKind::Count)],
    sentence: "[Rows with the word \"{word}\" for the {state}, which is not mapped: {rows}. ]\
               [Words for the {state} that are not mapped either: {words}. ]\
               The state counts as unknown there.\
               [ Say in the plant file what the word means, under {key}.]",
    about: &[],
    why: "A word that the plant file does not explain stands for no known state, and never counts \
          as safe.",
    what_to_do: "Enter in the plant file what the word means, and read the record again.",
    source: "method, section 1",
};

pub(super) fn find(notes: &mut Notes<'_>) {
    for (index, file) in notes.run.files.iter().enumerate() {
        for (&role, words) in &file.valve_words {
            unmapped(notes, index, role, words);
        }
        for (&role, words) in &file.switch_words {
            unmapped(notes, index, role, words);
        }
    }
}

fn unmapped<T: Copy>(notes: &mut Notes<'_>, index: usize, role: Role, words: &Words<T>) {
    let unmapped: Vec<_> = words
        .seen()
        .iter()
        .filter(|word| word.meaning.is_none() && !word.text.is_empty())
        .collect();
    let state = || ("state", Value::Word(role.name().to_owned()));
    let (single, rest) = unmapped.split_at(unmapped.len().min(ONE_BY_ONE));
    for word in single {
        let shown: String = word.text.chars().take(40).collect();
        let mut figures = vec![
            ("word", Value::Word(shown)),
            state(),
            ("rows", Value::Count(word.rows.count)),
        ];
        if role == Role::Valve {
            figures.push(("key", Value::Word("columns.valve".to_owned())));
        }
        notes.add_rows(index, word.rows, figures);
    }
    if let Some(first) = rest.first() {
        let count = rest.iter().map(|word| word.rows.count).sum();
        let figures = vec![state(), ("words", Value::Count(rest.len() as u64))];
        notes.add(index, first.rows.first_line, count, None, figures);
    }
}
