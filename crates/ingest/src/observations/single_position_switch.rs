//! Only one position switch of the flow diversion device is recorded.

use super::Notes;
use trace::{FigureKind, Definition, Rank, Role, Value};

pub(super) const DEFINITION: Definition = Definition {
    key: "single_position_switch",
    title: "one position switch only",
    rank: Rank::Note,
    figures: &[("forward", FigureKind::Word), ("divert", FigureKind::Word)],
    sentence: "[Only the forward position switch is recorded (\"{forward}\"). Where it is not made, \
               nothing shows that the device is diverted, and its position counts as unknown. ]\
               [Only the divert position switch is recorded (\"{divert}\"). Where it is not made, \
               the device counts as forward, though it may be on its way. ]\
               Record both switches.",
    about: &[],
    why: "With one switch alone the record does not tell a device on its way from one in position.",
    what_to_do: "Have both position switches recorded.",
    source: "method, section 1: Holdtrace's own choice",
};

/// One observation a switch, at the first file that has no other.
pub(super) fn find(notes: &mut Notes<'_>) {
    for (role, name) in [(Role::ValveForward, "forward"), (Role::ValveDivert, "divert")] {
        let alone = |file: &&crate::body::FileRows| file.columns.single_switch == Some(role);
        let rows: u64 =
            notes.run.files.iter().filter(alone).map(|file| file.rows.len() as u64).sum();
        let Some(index) = notes.run.files.iter().position(|file| alone(&file)) else { continue };
        let Some(file) = notes.run.files.get(index) else { continue };
        let column = file.columns.roles.get(&Role::Valve).and_then(|&column| file.names.get(column));
        let column = Value::Word(column.cloned().unwrap_or_default());
        notes.add(index, file.header_line, rows.max(1), None, vec![(name, column)]);
    }
}
