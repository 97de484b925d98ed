//! Lines that can't be taken apart into cells, or are no rows.

use super::Notes;
use trace::{FigureKind, Definition, Rank, SourcePosition, Value};

pub(super) const DEFINITION: Definition = Definition {
    key: "unreadable_row",
    title: "unreadable row",
    rank: Rank::Note,
    figures: &[("quotes", FigureKind::Count), ("remarks", FigureKind::Count), ("text", FigureKind::Word), ("header", FigureKind::Place)],
    sentence: "[Rows with a quote that is not closed: {quotes}. None of their readings is used.]\
               [Lines without cells that are taken for remarks: {remarks}, the first \"{text}\".]\
               [There is no row of readings below the header in {header}.]",
    about: &[],
    why: "Rows that can't be taken apart are not used, so readings may be missing there.",
    what_to_do: "Look at that line of the file, and export the file again.",
    source: "Holdtrace's own check (method, section 1)",
};

pub(super) fn find(notes: &mut Notes<'_>) {
    for (index, file) in notes.run.files.iter().enumerate() {
        let problems = &file.problems;
        if file.rows.is_empty() {
            let place = SourcePosition { file: file.name.clone(), line: file.header_line };
            let figures = vec![("header", Value::Place(place))];
            notes.add(index, file.header_line, 1, None, figures);
        }
        if problems.unclosed.count > 0 {
            let figures = vec![("quotes", Value::Count(problems.unclosed.count))];
            notes.add_rows(index, problems.unclosed, figures);
        }
        if problems.remarks.count > 0 {
            let figures = vec![
                ("remarks", Value::Count(problems.remarks.count)),
                ("text", Value::Word(problems.remark.clone())),
            ];
            let (line, count) = (problems.remarks.first_line, problems.remarks.count);
            notes.add(index, line, count, None, figures);
        }
    }
}
