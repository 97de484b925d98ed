//! What the plant of the week asks of its cleanings, and how its plant file is called.

use trace::Duration;

/// The plant file of the week: the sample plant with pumps, alarm, mode switch and the return of cleanings, and
/// what it asks of cleanings.
pub(super) const PLANT: &str = "plant.toml";
/// A cleaning is hot from here on, °F, for so long.
pub(super) const HOT: (&str, Duration) = ("155 degF", Duration::from_seconds(8 * 60));
/// Product goes forward for no longer without a cleaning.
pub(super) const LONGEST_RUN: Duration = Duration::from_seconds(150 * 60);
