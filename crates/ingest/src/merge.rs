//! Rows to samples: sorted, and one sample an instant (method, section 3).
//!
//! Identical rows collapse. Rows that differ become one sample with the worst reading of each
//! channel; what is worst depends on the readings alone, never on the order of the rows.

use crate::store::{AnyChannel, NUMBERS, Store, TEXTS, number_slot, text_slot};
use plant::Plant;
use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;
use trace::{
    BOTH, Channel, Decimal, Invalid, PressureUnit, Reading, Role, TextChannel, Toward, ValveState,
};

/// Rows in order of time, rows of one instant together.
#[derive(Debug)]
pub(crate) struct Groups {
    rows: Vec<u32>,
    /// Where each group ends in `rows`.
    ends: Vec<u32>,
}

impl Groups {
    /// Groups `rows`, which are in the order of the files, by their instants.
    pub(crate) fn new(mut rows: Vec<u32>, instants: &[i64]) -> Self {
        let at = |row: u32| instants.get(row as usize).copied().unwrap_or_default();
        if !rows.is_sorted_by_key(|&row| at(row)) {
            rows.sort_by_key(|&row| at(row));
        }
        let mut ends = Vec::with_capacity(rows.len());
        for (index, pair) in rows.windows(2).enumerate() {
            if at(pair[0]) != at(pair[1]) {
                ends.push(index as u32 + 1);
            }
        }
        if !rows.is_empty() {
            ends.push(rows.len() as u32);
        }
        Self { rows, ends }
    }

    /// Groups of rows that follow each other; a row may be in several, and a group may have none.
    pub(crate) fn of(groups: Vec<Range<u32>>) -> Self {
        let mut ends = Vec::with_capacity(groups.len());
        let mut rows = Vec::with_capacity(groups.len());
        for group in groups {
            rows.extend(group);
            ends.push(rows.len() as u32);
        }
        Self { rows, ends }
    }

    /// The rows of each instant, in the order of the files.
    pub(crate) fn iter(&self) -> impl Iterator<Item = &[u32]> {
        let mut start = 0;
        self.ends.iter().map(move |&end| {
            let group = self.rows.get(start..end as usize).unwrap_or_default();
            start = end as usize;
            group
        })
    }

    /// All rows, in order of time.
    pub(crate) fn into_rows(self) -> Vec<u32> {
        self.rows
    }

    fn len(&self) -> usize {
        self.ends.len()
    }
}

/// Whether two rows have the same readings in every column.
pub(crate) fn same(store: &Store, one: u32, other: u32) -> bool {
    let (one, other) = (one as usize, other as usize);
    store.valve.get(one) == store.valve.get(other)
        && store.numbers.iter().flatten().all(|channel| {
            let mantissas = channel.view().mantissas();
            mantissas.get(one) == mantissas.get(other)
        })
        && store.switches.iter().flatten().all(|states| states.get(one) == states.get(other))
        && store.texts.iter().flatten().all(|text| text.codes().get(one) == text.codes().get(other))
}

/// The samples that the groups of rows make.
pub(crate) fn merge(store: Store, groups: &Groups, plant: &Plant) -> Store {
    let has_pair = store.has_pair();
    let Store { valve, mut numbers, switches, mut texts, .. } = store;
    let mut merged = Store { valve: valves(&valve, groups), ..Store::default() };
    // Of one alone, as another logger has the other, its own worst counts.
    let pair = [Role::RawPressure, Role::PasteurizedPressure].map(|role| {
        let slot = number_slot(role).filter(|_| has_pair)?;
        numbers.get_mut(slot)?.take().and_then(AnyChannel::pressure)
    });
    if let [Some(raw), Some(pasteurized)] = pair {
        let (raw, pasteurized) = pressures(&raw, &pasteurized, groups);
        for (role, channel) in [(Role::RawPressure, raw), (Role::PasteurizedPressure, pasteurized)]
        {
            if let Some(slot) = number_slot(role).and_then(|slot| merged.numbers.get_mut(slot)) {
                *slot = Some(AnyChannel::Pressure(channel));
            }
        }
    }
    for ((role, from), to) in NUMBERS.into_iter().zip(numbers).zip(&mut merged.numbers) {
        let toward = worse(role);
        // One column at a time, so that no two copies of the whole record are held.
        if let Some(channel) = from {
            *to = Some(match channel {
                AnyChannel::Temperature(channel) => {
                    AnyChannel::Temperature(readings(&channel, groups, toward))
                }
                AnyChannel::Pressure(channel) => {
                    AnyChannel::Pressure(readings(&channel, groups, toward))
                }
                AnyChannel::Flow(channel) => AnyChannel::Flow(readings(&channel, groups, toward)),
            });
        }
    }
    merged.switches = switches.map(|one| one.map(|one| states(&one, groups)));
    for role in TEXTS {
        let Some(slot) = text_slot(role) else { continue };
        if let (Some(from), Some(to)) = (texts.get_mut(slot), merged.texts.get_mut(slot)) {
            *to = from.take().map(|text| words(&text, groups, role, plant));
        }
    }
    merged
}

impl Store {
    /// The columns of this store with those of another beside them, row by row. Of a channel that both have
    /// the worse reading is kept.
    pub(crate) fn beside(mut self, other: Self) -> Self {
        let Self { numbers, switches, .. } = other;
        for ((role, slot), other) in NUMBERS.into_iter().zip(&mut self.numbers).zip(numbers) {
            *slot = match (slot.take(), other) {
                (Some(own), Some(other)) => Some(both(own, &other, worse(role))),
                (own, other) => own.or(other),
            };
        }
        for (slot, other) in self.switches.iter_mut().zip(switches) {
            *slot = match (slot.take(), other) {
                (Some(own), Some(other)) => {
                    let pairs: Vec<Option<bool>> =
                        own.into_iter().zip(other).flat_map(|(own, other)| [own, other]).collect();
                    let rows = (0..pairs.len() as u32 / 2).map(|row| 2 * row..2 * row + 2);
                    Some(states(&pairs, &Groups::of(rows.collect())))
                }
                (own, other) => own.or(other),
            };
        }
        self
    }
}

/// The worse of two readings, row by row. The plant file makes sure that both are in one unit.
fn both(own: AnyChannel, other: &AnyChannel, toward: Toward) -> AnyChannel {
    fn both<U: trace::Unit>(own: &Channel<U>, other: &Channel<U>, toward: Toward) -> Channel<U> {
        let mut both = own.empty_like().with_capacity(own.len());
        for row in 0..own.len() {
            both.push(worst([own.reading(row), other.reading(row)].into_iter(), toward));
        }
        both
    }
    match (own, other) {
        (AnyChannel::Temperature(own), AnyChannel::Temperature(other)) => {
            AnyChannel::Temperature(both(&own, other, toward))
        }
        (AnyChannel::Pressure(own), AnyChannel::Pressure(other)) => {
            AnyChannel::Pressure(both(&own, other, toward))
        }
        (AnyChannel::Flow(own), AnyChannel::Flow(other)) => {
            AnyChannel::Flow(both(&own, other, toward))
        }
        // A role has one quantity.
        (own, _) => own,
    }
}

fn valves(valve: &[ValveState], groups: &Groups) -> Vec<ValveState> {
    let at = |&row: &u32| valve.get(row as usize).copied().unwrap_or(ValveState::Unknown);
    groups.iter().map(|rows| rows.iter().map(at).max().unwrap_or(ValveState::Unknown)).collect()
}

/// The lowest or the highest reading; invalid when any is.
fn readings<U: trace::Unit>(channel: &Channel<U>, groups: &Groups, toward: Toward) -> Channel<U> {
    let mut merged = channel.empty_like().with_capacity(groups.len());
    for rows in groups.iter() {
        merged.push(worst(rows.iter().map(|&row| channel.reading(row as usize)), toward));
    }
    merged
}

fn worst(mut readings: impl Iterator<Item = Reading>, toward: Toward) -> Reading {
    let Some(first) = readings.next() else { return Reading::Invalid(Invalid::Blank) };
    readings.fold(first, |worst, reading| match (worst, reading) {
        (Reading::Invalid(one), Reading::Invalid(other)) => Reading::Invalid(one.min(other)),
        (Reading::Invalid(_), Reading::Valid(_)) => worst,
        (Reading::Valid(_), Reading::Invalid(_)) => reading,
        (Reading::Valid(one), Reading::Valid(other)) => Reading::Valid(match toward {
            Toward::Down => one.min(other),
            Toward::Up => one.max(other),
        }),
    })
}

/// The pair with the lowest differential; a side is invalid when it is in any row.
fn pressures(
    raw: &Channel<PressureUnit>,
    pasteurized: &Channel<PressureUnit>,
    groups: &Groups,
) -> (Channel<PressureUnit>, Channel<PressureUnit>) {
    let difference = Channel::difference(pasteurized, raw);
    let mut merged_raw = raw.empty_like().with_capacity(groups.len());
    let mut merged_pasteurized = pasteurized.empty_like().with_capacity(groups.len());
    for rows in groups.iter() {
        let of = |channel: &Channel<PressureUnit>, row: u32| channel.reading(row as usize);
        let lowest = match rows {
            [row] => Some(*row),
            _ => {
                let all_valid = rows.iter().all(|&row| of(&difference, row).valid().is_some());
                let key = |&&row: &&u32| {
                    let value = |reading: Reading| reading.valid().unwrap_or(Decimal::ZERO);
                    // Of equal differentials the pair with the higher raw pressure.
                    (value(of(&difference, row)), Reverse(value(of(raw, row))))
                };
                rows.iter().min_by_key(key).copied().filter(|_row| all_valid)
            }
        };
        match lowest {
            Some(row) => {
                merged_raw.push(of(raw, row));
                merged_pasteurized.push(of(pasteurized, row));
            }
            None => {
                let side =
                    |channel, toward| worst(rows.iter().map(|&row| of(channel, row)), toward);
                merged_raw.push(side(raw, Toward::Up));
                merged_pasteurized.push(side(pasteurized, Toward::Down));
            }
        }
    }
    (merged_raw, merged_pasteurized)
}

/// On when any row is: a leak, an alarm, a pump that runs, since what stands is looked at less.
/// Not readable when any is not.
fn states(states: &[Option<bool>], groups: &Groups) -> Vec<Option<bool>> {
    let at = |&row: &u32| states.get(row as usize).copied().flatten();
    groups
        .iter()
        .map(|rows| {
            if rows.iter().map(at).any(|state| state == Some(true)) {
                Some(true)
            } else if rows.is_empty() || rows.iter().map(at).any(|state| state.is_none()) {
                None
            } else {
                Some(false)
            }
        })
        .collect()
}

fn words(text: &TextChannel, groups: &Groups, role: Role, plant: &Plant) -> TextChannel {
    let mut merged = TextChannel::new();
    for rows in groups.iter() {
        let words = rows.iter().map(|&row| text.word(row as usize));
        let word = match (rows, role) {
            ([row], _) => Some(text.word(*row as usize).to_owned()),
            (_, Role::Product) => Some(products(words)),
            (_, Role::Lot) => Some(lots(words)),
            (_, Role::Mode) => words
                .min_by_key(|word| (plant.columns.mode_words.mode(word), word.is_empty(), *word))
                .map(ToOwned::to_owned),
            _ => words.filter(|word| !word.is_empty()).min().map(ToOwned::to_owned),
        };
        merged.push(&word.unwrap_or_default());
    }
    merged
}

/// The products of rows that became one sample: each name once, so that the sample can be held to
/// the strictest of all. A name that is blank in one of them is unknown for the sample.
fn products<'a>(words: impl Iterator<Item = &'a str>) -> String {
    // Case does not tell two products apart.
    let mut names: BTreeMap<String, &str> = BTreeMap::new();
    for word in words {
        if word.is_empty() {
            return String::new();
        }
        names.entry(word.to_lowercase()).and_modify(|name| *name = word.min(name)).or_insert(word);
    }
    let mut names: Vec<&str> = names.into_values().collect();
    names.sort_unstable();
    names.join(BOTH)
}

/// The lots of rows that became one sample, each once, so that each is held: one that is blank in one of
/// the rows is known from the other.
fn lots<'a>(words: impl Iterator<Item = &'a str>) -> String {
    let names: BTreeSet<&str> = words.filter(|word| !word.is_empty()).collect();
    names.into_iter().collect::<Vec<_>>().join(BOTH)
}

/// The side of two readings that is worse for the consumer. A recorder that reads lower may
/// contradict the indicating thermometer, so the lower of its readings is kept.
fn worse(role: Role) -> Toward {
    match role {
        Role::RecorderTemperature => Toward::Down,
        _ => role.worse(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn differing_products_are_all_named() {
        for (words, merged) in [
            (vec!["milk", "cream"], "cream + milk"),
            (vec!["milk", "milk"], "milk"),
            (vec!["milk", "Milk", "cream", "milk"], "Milk + cream"),
            (vec!["milk", "", "cream"], ""),
            (vec!["", ""], ""),
            (vec!["whey", "milk", "cream"], "cream + milk + whey"),
        ] {
            assert_eq!(products(words.iter().copied()), merged, "{words:?}");
        }
    }

    #[test]
    fn a_pump_that_runs_in_one_row_runs() {
        let (on, off) = (Some(true), Some(false));
        for (one, other, merged) in
            [(on, off, on), (on, None, on), (off, None, None), (off, off, off), (None, None, None)]
        {
            for rows in [[one, other], [other, one]] {
                let groups = Groups::new(vec![0, 1], &[5, 5]);
                assert_eq!(states(&rows, &groups), [merged], "{rows:?}");
            }
        }
    }
}
