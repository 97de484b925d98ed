//! One line of a plot in the units shown.

use crate::day::setting::short_name;
use crate::units::{Shown, Units};
use crate::why::Why;
use case::Case;
use chart::{Curves, PlotKind, Polylines, Source};
use trace::{ChannelView, Interval, Reading, Role};

/// One line of a plot. Values are in the unit shown.
#[derive(Clone, Copy)]
pub struct Series<'a> {
    /// The line in recorded units.
    pub series: chart::Series<'a>,
    /// The name beside its readings.
    pub name: &'static str,
    /// The unit shown; `None` for the residence time, which is shown in seconds.
    shown: Option<Shown>,
}

impl<'a> Series<'a> {
    /// The lines of a plot, the most important first.
    pub fn of(kind: PlotKind, (case, curves): (&'a Case, &'a Curves), units: Units) -> Vec<Self> {
        let series = chart::Series::of(kind, case, curves).into_iter();
        let shown = |series: chart::Series<'a>| match series.source() {
            Source::Channel(role, channel) => {
                Self { series, name: short_name(role), shown: Some(units.of(channel)) }
            }
            Source::Residence(_) => Self { series, name: "Residence", shown: None },
        };
        series.map(shown).collect()
    }

    /// The channel and the unit shown, unless it is the residence time.
    pub fn channel(&self) -> Option<(Role, ChannelView<'a>, Shown)> {
        match self.series.source() {
            Source::Channel(role, channel) => Some((role, channel, self.shown?)),
            Source::Residence(_) => None,
        }
    }

    /// Whether a sample has a value.
    pub fn is_known(&self, sample: usize) -> bool {
        match self.series.source() {
            Source::Channel(_, channel) => channel.value(sample).is_some(),
            Source::Residence(residence) => residence.at(sample).is_some(),
        }
    }

    /// Factor and offset from a mantissa to the value shown. For drawing, where the last bit of a
    /// binary number is of no matter; every conversion of units is a straight line.
    pub fn line(&self) -> (f64, f64) {
        let offset = self.shown.map_or(0.0, |shown| shown.value(0.0));
        let factor = self.shown.map_or(1.0, |shown| shown.value(1.0) - offset);
        (factor / self.series.divisor(), offset)
    }

    /// The least and the greatest value shown of a line; only in forward flow if that is asked.
    pub fn range(&self, line: &Polylines, seen: Interval, forward: bool) -> Option<(f64, f64)> {
        let (factor, offset) = self.line();
        let value = |mantissa: i64| mantissa as f64 * factor + offset;
        let extent = self.series.extent(line, seen, forward);
        extent.map(|(least, greatest)| (value(least), value(greatest)))
    }

    /// The value of a sample with its unit, or why there is none.
    pub fn reading(&self, sample: usize) -> Result<String, Why> {
        match (self.series.source(), self.shown) {
            (Source::Channel(_, channel), Some(shown)) => {
                let reading = channel.reading(sample);
                let text = shown.reading(reading);
                if matches!(reading, Reading::Valid(_)) { Ok(text) } else { Err(text.into()) }
            }
            (Source::Residence(residence), _) => match residence.at(sample) {
                Some(held) => Ok(case::at_least(held)),
                None => Err("not known".into()),
            },
            (Source::Channel(..), None) => Err("".into()),
        }
    }

    /// The symbol of the unit shown.
    pub fn symbol(&self) -> &'static str {
        self.shown.map_or("s", |shown| shown.symbol())
    }
}
