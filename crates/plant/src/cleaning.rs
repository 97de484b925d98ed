//! What a plant asks of its cleanings. Nothing of it is built in: what is not set is not asked.

use crate::limit::TemperatureLimit;
use trace::Duration;

/// What a plant asks of its cleanings.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct CleaningPlan {
    /// The temperature above which the time of a cleaning counts; reached is enough.
    pub temperature: Option<TemperatureLimit>,
    /// How long a cleaning is at least at that temperature; never without it.
    pub minimum_time: Option<Duration>,
    /// How long product may go forward without a cleaning in between.
    pub longest_production_run: Option<Duration>,
}
