//! The model of the plots, without a screen: which plots there are and what each is about, limits,
//! bands, axes and scales, the runs of the flow diversion device, and what to draw of a long record
//! without losing a reading that counts. Window and paper draw from it, so that both show the same.
//!
//! A day at 10 Hz has 864,000 readings and a screen some 1,600 columns of pixels. For each column
//! the first, the last, the least and the greatest real reading are kept at their true instants,
//! which draws the same picture as all readings would (M4: Jugel, Jerzak, Hackenbroich, Markl,
//! VLDB 2014, section 4). Nothing is averaged, nothing is interpolated, a one-sample excursion is
//! never lost, and no line crosses a gap or an invalid reading.
//!
//! [`Curves`] are built once for a record, with a [`Pyramid`] for each channel. Each frame
//! [`Columns::set`] divides the visible range once for all channels, then [`Curve::visible`] costs
//! O(columns · log readings) a channel. [`StateRuns`] does the same service for columns of states. The
//! crate is pure. Samples are counted in 32 bits: a record beyond 2^32 samples is cut there.

mod axis;
mod bands;
mod columns;
mod curve;
mod curves;
mod leaving;
mod limits;
mod measure;
mod plot_kind;
mod polylines;
mod positions;
mod pyramid;
mod scale;
mod series;
mod states;

pub use axis::{ElapsedTick, Tick, elapsed, elapsed_ticks, time_ticks};
pub use bands::{Band, Grain, bands};
pub use columns::Columns;
pub use curve::{Curve, POINTS_PER_COLUMN};
pub use curves::Curves;
pub use leaving::{Leaving, leaving};
pub use limits::{LimitStep, limits, merged};
pub use measure::{ChannelSpan, Measured, measure};
pub use plot_kind::PlotKind;
pub use polylines::Polylines;
pub use positions::{lasting, positions, samples};
pub use pyramid::{Extremes, Pyramid};
pub use scale::Scale;
pub use series::{Series, Source};
pub use states::{StateRun, StateRuns};
