//! Whether the two pressures of the regenerator agree while the pumps stand (method, section 8): nothing
//! drives the product then, and what is left between the two readings is the gauges' own.

use crate::context::Context;
use plant::Mode;
use trace::{ChannelView, Decimal, Duration, Interval, PressureUnit, Role, median};

/// How long the pumps must have stood before their pressures count, and how long they must go on standing:
/// 60 s each (our choice).
const SETTLING: Duration = Duration::from_seconds(60);

/// One standstill.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ZeroCheck {
    /// The samples that count, from the first to the last.
    pub interval: Interval,
    /// How many of them are valid.
    pub samples: usize,
    /// Pasteurized minus raw: the lower median.
    pub median: Decimal,
    /// Its unit.
    pub unit: PressureUnit,
}

/// Every standstill; none where the plant does not set `zero_check`. In cleaning or while the booster pump is
/// not shown to stand, nothing stands.
pub(crate) fn find(context: &Context<'_>) -> Vec<ZeroCheck> {
    if context.plant.limits.zero_check.is_none() {
        return Vec::new();
    }
    let (record, instants) = (context.record, context.record.instants());
    let booster = record.switch(Role::BoosterPump);
    let runs = context.verdicts.runs(|sample| {
        context.is_standing(sample)
            && booster.is_none_or(|pump| pump[sample] == Some(false))
            && context.mode_at(sample) != Mode::Cleaning
    });
    let differential = record.differential();
    let check = |(first, last): (usize, usize)| {
        let settled = instants[first] + SETTLING;
        let from = (first..=last).find(|&sample| instants[sample] >= settled)?;
        let interval = Interval::between(instants[from], instants[last]);
        let valid = differential.mantissas()[from..=last].iter().copied();
        let mut valid: Vec<i64> = valid.filter(|&one| ChannelView::is_valid(one)).collect();
        let middle = median::lower(&mut valid, i64::cmp)?;
        (interval.duration() >= SETTLING).then(|| ZeroCheck {
            interval,
            samples: valid.len(),
            median: Decimal::new(middle, differential.scale()),
            unit: differential.unit(),
        })
    };
    runs.into_iter().filter_map(check).collect()
}
