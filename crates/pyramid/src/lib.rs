//! Decimation for evidence: what to draw of a long record without losing a reading that counts.
//!
//! A day at 10 Hz has 864,000 readings and a screen some 1,600 columns of pixels. For each column
//! the first, the last, the least and the greatest real reading are kept at their true instants,
//! which draws the same picture as all readings would (M4: Jugel, Jerzak, Hackenbroich, Markl,
//! VLDB 2014, section 4). Nothing is averaged, nothing is interpolated, a one-sample excursion is
//! never lost, and no line crosses a gap or an invalid reading.
//!
//! A [`Pyramid`] is built once for each channel. Each frame [`Columns::set`] divides the visible
//! range once for all channels, then [`Curve::visible`] costs O(columns · log readings) a channel. [`StateRuns`] does the same service for columns of states. The crate is pure and
//! knows `trace` only. Samples are counted in 32 bits: a record beyond 2^32 samples is cut there.

mod columns;
mod curve;
mod polylines;
mod pyramid;
mod states;

pub use columns::Columns;
pub use curve::{Curve, POINTS_PER_COLUMN};
pub use polylines::Polylines;
pub use pyramid::{Extremes, Pyramid};
pub use states::{StateRun, StateRuns};
