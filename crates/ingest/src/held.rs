//! Files that have a row where something changed, with blank cells for what did not.
//!
//! A reading holds from its row on until the channel is read again, and no longer than the plant file says; then
//! the channel has no reading until there is one. Before the first reading of a channel there is none.
//! Between two rows the record gets a row at each step at which the logger looked, so that what held
//! is judged as if it had been written each time. A cell that can't be read holds as such, and so does each
//! cell of a row that has too few or too many. A row without a place in time may have changed anything: nothing
//! holds over it.

use crate::store::{CHANNELS, NUMBERS, SWITCHES, Store, TEXTS, Unchanged, bit};
use plant::OnChange;
use trace::{Interval, Role, TextChannel, ValveState};

/// No record gets more rows (ours): three months at a step of one second.
pub(crate) const MOST_ROWS: usize = 8_000_000;

fn place(role: Role) -> usize {
    bit(role).trailing_zeros() as usize
}

/// There would be more rows than [`MOST_ROWS`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct TooMany;

/// A reading that holds: its row, and when that was.
#[derive(Debug, Clone, Copy)]
struct Held {
    row: u32,
    since: i64,
}

/// Stands for no reading.
const NOTHING: u32 = u32::MAX;

/// Fills the blank cells with what holds, and adds the rows between. `order` are the rows in order of time,
/// `broken` the spans over which nothing holds; the instants of added rows are put behind the others.
pub(crate) fn hold(
    store: Store,
    instants: &mut Vec<i64>,
    order: &[u32],
    broken: &[Interval],
    how: OnChange,
) -> Result<Store, TooMany> {
    let Some(unchanged) = &store.unchanged else { return Ok(store) };
    let (step, longest) = (how.step.milliseconds().max(1), how.longest_hold.milliseconds());
    // Of each channel the row that each row has its reading from.
    let rows = instants.len() as u32;
    let mut sources: Vec<Vec<u32>> = vec![(0..rows).collect(); CHANNELS];
    let mut held: [Option<Held>; CHANNELS] = [None; CHANNELS];
    let mut broken = broken.iter().peekable();
    let mut before: Option<i64> = None;
    for &row in order {
        let Some(&now) = instants.get(row as usize) else { continue };
        if let Some(before) = before {
            while broken.next_if(|span| span.end().unix_milliseconds() <= before).is_some() {}
            if broken.peek().is_some_and(|span| span.start().unix_milliseconds() < now) {
                held = [None; CHANNELS];
            }
            let last = held.iter().flatten().map(|held| held.since.saturating_add(longest)).max();
            let mut between = before + step;
            while between < now && last.is_some_and(|last| between <= last) {
                if instants.len() >= MOST_ROWS {
                    return Err(TooMany);
                }
                instants.push(between);
                for (sources, held) in sources.iter_mut().zip(&held) {
                    sources.push(source(*held, between, longest));
                }
                between += step;
            }
        }
        let unchanged = unchanged.cells.get(row as usize).copied().unwrap_or_default();
        for (place, (sources, held)) in sources.iter_mut().zip(&mut held).enumerate() {
            if unchanged >> place & 1 == 0 {
                *held = Some(Held { row, since: now });
            } else if let Some(own) = sources.get_mut(row as usize) {
                *own = source(*held, now, longest);
            }
        }
        before = Some(now);
    }
    Ok(filled(store, &sources))
}

/// The row of a reading that still holds.
fn source(held: Option<Held>, now: i64, longest: i64) -> u32 {
    held.filter(|held| now - held.since <= longest).map_or(NOTHING, |held| held.row)
}

/// Each channel with its readings from these rows.
fn filled(store: Store, sources: &[Vec<u32>]) -> Store {
    let Store { stamps, valve, numbers, switches: states_of, texts, unchanged } = store;
    let of = |role: Role| sources.get(place(role)).map_or(&[][..], Vec::as_slice);
    let Unchanged { switches, has_switches, .. } = unchanged.unwrap_or_default();
    let valve = if has_switches {
        let at = |row: u32, switch: usize| {
            switches.get(row as usize).and_then(|both| both.get(switch).copied().flatten())
        };
        let rows = of(Role::ValveForward).iter().zip(of(Role::ValveDivert));
        rows.map(|(&one, &other)| ValveState::from_switches(at(one, 0), at(other, 1))).collect()
    } else {
        let at = |&row: &u32| valve.get(row as usize).copied().unwrap_or(ValveState::Unknown);
        of(Role::Valve).iter().map(at).collect()
    };
    let mut slots = SWITCHES.into_iter();
    let states_of = states_of.map(|states| {
        let role = slots.next()?;
        let states = states?;
        let at = |&row: &u32| states.get(row as usize).copied().flatten();
        Some(of(role).iter().map(at).collect())
    });
    let mut filled = Store { stamps, valve, switches: states_of, ..Store::default() };
    for ((role, from), to) in NUMBERS.into_iter().zip(numbers).zip(&mut filled.numbers) {
        let rows = of(role).iter().map(|&row| row as usize);
        *to = from.map(|channel| channel.of_rows(rows));
    }
    for ((role, from), to) in TEXTS.into_iter().zip(texts).zip(&mut filled.texts) {
        *to = from.map(|text| {
            let mut filled = TextChannel::new();
            for &row in of(role) {
                filled.push(text.word(row as usize));
            }
            filled
        });
    }
    filled
}
