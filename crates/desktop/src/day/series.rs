//! What one plot draws: the channels of the record, or the residence time that the audit found.

use crate::day::Day;
use crate::day::setting::{PlotKind, short_name};
use crate::units::{Shown, Units};
use analysis::Residence;
use pyramid::{Curve, Polylines, Pyramid};
use trace::{ChannelView, Decimal, Reading, Role, ValveState};

/// One line of a plot. Values are in the unit shown.
#[derive(Clone, Copy)]
pub struct Series<'a> {
    /// The name beside its readings.
    pub name: &'static str,
    /// What it is decimated with.
    pub pyramid: &'a Pyramid,
    source: Source<'a>,
}

#[derive(Clone, Copy)]
enum Source<'a> {
    Channel(Role, ChannelView<'a>, Shown),
    Residence(&'a Residence),
}

impl<'a> Series<'a> {
    /// The lines of a plot, the most important first.
    pub fn of(kind: PlotKind, day: &'a Day, units: Units) -> Vec<Self> {
        if kind == PlotKind::Residence {
            let residence = day.case.audit().residence.as_ref().zip(day.curves.residence.as_ref());
            let series = residence.map(|(residence, pyramid)| Self {
                name: "Residence",
                pyramid,
                source: Source::Residence(residence),
            });
            return series.into_iter().collect();
        }
        let series = kind.roles().iter().filter_map(|&role| {
            let channel = day.case.record().channel(role)?;
            let pyramid = day.curves.pyramid(role)?;
            let source = Source::Channel(role, channel, units.of(channel));
            Some(Self { name: short_name(role), pyramid, source })
        });
        series.collect()
    }

    /// The channel, unless it is the residence time.
    pub const fn channel(&self) -> Option<(Role, ChannelView<'a>, Shown)> {
        match self.source {
            Source::Channel(role, channel, shown) => Some((role, channel, shown)),
            Source::Residence(_) => None,
        }
    }

    /// The channel's role; `None` for the residence time.
    pub const fn role(&self) -> Option<Role> {
        match self.source {
            Source::Channel(role, ..) => Some(role),
            Source::Residence(_) => None,
        }
    }

    /// All samples as integers, as [`ChannelView::mantissas`].
    pub fn mantissas(&self) -> &'a [i64] {
        match self.source {
            Source::Channel(_, channel, _) => channel.mantissas(),
            Source::Residence(residence) => residence.milliseconds(),
        }
    }

    /// The value of a sample; `None` where there is none.
    pub fn value(&self, sample: usize) -> Option<f64> {
        match self.source {
            Source::Channel(_, channel, shown) => {
                channel.value(sample).map(|value| shown.value(value))
            }
            Source::Residence(residence) => {
                residence.at(sample).map(|held| held.milliseconds() as f64 / 1000.0)
            }
        }
    }

    /// Factor and offset from a mantissa to the value shown. For drawing, where the last bit of a
    /// binary number is of no matter; every conversion of units is a straight line.
    pub fn line(&self) -> (f64, f64) {
        match self.source {
            Source::Channel(_, channel, shown) => {
                let offset = shown.value(0.0);
                let factor = shown.value(1.0) - offset;
                (factor / trace::power_of_ten(channel.scale()) as f64, offset)
            }
            Source::Residence(_) => (1.0 / 1000.0, 0.0),
        }
    }

    /// The least and the greatest value shown of a line; only in forward flow if that is asked.
    pub fn range(&self, day: &Day, line: &Polylines, forward: bool) -> Option<(f64, f64)> {
        let mut runs = day.curves.valve.all().iter();
        let mut run = runs.next();
        let mut range: Option<(i64, i64)> = None;
        for (&sample, &mantissa) in line.samples().iter().zip(line.mantissas()) {
            if forward {
                // Samples and runs are in order of time, so both are walked once.
                while run.is_some_and(|run| run.last < sample as usize) {
                    run = runs.next();
                }
                if run.is_none_or(|run| run.state != ValveState::Forward) {
                    continue;
                }
            }
            let (least, greatest) = range.unwrap_or((mantissa, mantissa));
            range = Some((least.min(mantissa), greatest.max(mantissa)));
        }
        let (factor, offset) = self.line();
        range.map(|(least, greatest)| {
            (least as f64 * factor + offset, greatest as f64 * factor + offset)
        })
    }

    /// The curve that the line is drawn from.
    pub fn curve(&self, day: &'a Day) -> Curve<'a> {
        Curve { mantissas: self.mantissas(), gaps: &day.case.audit().gaps, pyramid: self.pyramid }
    }

    /// The value of a sample with its unit, or why there is none.
    pub fn reading(&self, sample: usize) -> Result<String, String> {
        match self.source {
            Source::Channel(_, channel, shown) => {
                let reading = channel.reading(sample);
                let text = shown.reading(reading);
                if matches!(reading, Reading::Valid(_)) { Ok(text) } else { Err(text) }
            }
            Source::Residence(residence) => match residence.at(sample) {
                Some(held) => Ok(format!("{} s", Decimal::new(held.milliseconds(), 3))),
                None => Err("not known".to_owned()),
            },
        }
    }

    /// The symbol of the unit shown.
    pub fn symbol(&self) -> &'static str {
        match self.source {
            Source::Channel(_, _, shown) => shown.symbol(),
            Source::Residence(_) => "s",
        }
    }
}
