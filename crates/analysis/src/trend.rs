//! Straight lines through the run: regeneration efficiency, heater approach, differential margin.
//!
//! Samples a second apart are not independent, so means of whole minutes are fitted; the
//! uncertainty is that of the slope, 95 %. The first five minutes after each cut-in are left out,
//! while the line settles. Below thirty minutes of settled forward flow no line is given.

use crate::context::Context;
use trace::{ChannelView, Duration, Role, Unit};

/// What is followed over the run.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Followed {
    /// (T regenerated − T raw)/(T holding − T raw).
    Regeneration,
    /// Heating water minus holding temperature: it grows as the heater fouls.
    Approach,
    /// Differential pressure above its limit.
    DifferentialMargin,
}

impl Followed {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Regeneration, Self::Approach, Self::DifferentialMargin];

    /// The key in JSON.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Regeneration => "regeneration",
            Self::Approach => "approach",
            Self::DifferentialMargin => "differential_margin",
        }
    }

    /// The name for a person.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Regeneration => "regeneration efficiency",
            Self::Approach => "heating water above holding temperature",
            Self::DifferentialMargin => "differential pressure above its limit",
        }
    }
}

/// A series over the settled forward flow of a record.
#[derive(Debug, Clone, PartialEq)]
pub struct Trend {
    /// What is followed.
    pub followed: Followed,
    /// The unit's symbol.
    pub unit: &'static str,
    /// The mean of the minutes.
    pub mean: f64,
    /// The least minute.
    pub least: f64,
    /// The greatest minute.
    pub greatest: f64,
    /// The minutes of settled forward flow, in order; at least one.
    pub minutes: Vec<Minute>,
    /// The line; `None` when the run is too short for one.
    pub line: Option<Line>,
}

/// The mean of one minute.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Minute {
    /// Hours from the first sample of the record to the minute's begin.
    pub hours: f64,
    /// The mean of its settled readings.
    pub mean: f64,
}

/// A fitted straight line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    /// The change an hour.
    pub per_hour: f64,
    /// Half the width of its 95 % interval.
    pub uncertainty: f64,
}

impl Line {
    /// Whether the change is told from none.
    pub fn is_significant(&self) -> bool {
        self.per_hour.abs() > self.uncertainty
    }
}

/// The fewest minutes for a line.
pub(crate) const FEWEST_MINUTES: usize = 30;

/// How long a line settles after a cut-in (ours): until the regenerator has its temperatures.
pub(crate) const SETTLING: Duration = Duration::from_seconds(300);

/// The trends for which the record has the channels.
pub(crate) fn trends(context: &Context<'_>) -> Vec<Trend> {
    let record = context.record;
    let holding = record.holding_temperature();
    let in_holding = |view: ChannelView<'_>, sample: usize| match view {
        ChannelView::Temperature(channel) => {
            channel.value(sample).map(|value| channel.unit().convert(value, holding.unit()))
        }
        ChannelView::Pressure(_) | ChannelView::Flow(_) => None,
    };
    let mut trends = Vec::new();
    let (raw, regenerated) =
        (record.channel(Role::RawTemperature), record.channel(Role::RegeneratedTemperature));
    if let (Some(raw), Some(regenerated)) = (raw, regenerated) {
        trends.extend(trend(context, Followed::Regeneration, "%", |sample| {
            let raw = in_holding(raw, sample)?;
            regeneration(raw, in_holding(regenerated, sample)?, holding.value(sample)?)
                .map(|fraction| 100.0 * fraction)
        }));
    }
    if let Some(water) = record.channel(Role::HeatingWaterTemperature) {
        let unit = holding.unit().symbol();
        trends.extend(trend(context, Followed::Approach, unit, |sample| {
            Some(in_holding(water, sample)? - holding.value(sample)?)
        }));
    }
    let differential = record.differential();
    let floor = context.floor.exact.to_f64();
    let unit = differential.unit().symbol();
    trends.extend(trend(context, Followed::DifferentialMargin, unit, |sample| {
        Some(differential.value(sample)? - floor)
    }));
    trends
}

/// Regeneration efficiency as a fraction: (T regenerated − T raw)/(T holding − T raw); `None` without
/// a rise of at least a degree to divide by.
pub fn regeneration(raw: f64, regenerated: f64, holding: f64) -> Option<f64> {
    let rise = holding - raw;
    (rise >= 1.0).then(|| (regenerated - raw) / rise)
}

/// Means of whole minutes of settled forward flow, then a line by least squares.
fn trend(
    context: &Context<'_>,
    followed: Followed,
    unit: &'static str,
    value: impl Fn(usize) -> Option<f64>,
) -> Option<Trend> {
    let instants = context.record.instants();
    let mut minutes: Vec<Minute> = Vec::new();
    let mut current: Option<(i64, f64, u32)> = None;
    let mut close = |current: Option<(i64, f64, u32)>| {
        if let Some((minute, sum, count)) = current {
            minutes.push(Minute { hours: minute as f64 / 60.0, mean: sum / f64::from(count) });
        }
    };
    // A record that begins in forward flow is taken for settled: no cut-in was seen.
    let mut settled = instants[0];
    for (sample, &instant) in instants.iter().enumerate() {
        if !context.verdicts.is_forward(sample) {
            settled = instant + SETTLING;
            continue;
        }
        if instant < settled {
            continue;
        }
        let Some(value) = value(sample) else { continue };
        let minute = instant.since(instants[0]).milliseconds() / 60_000;
        match &mut current {
            Some((held, sum, count)) if *held == minute => {
                *sum += value;
                *count += 1;
            }
            _ => {
                close(current);
                current = Some((minute, value, 1));
            }
        }
    }
    close(current);
    if minutes.is_empty() {
        return None;
    }
    let means = || minutes.iter().map(|minute| minute.mean);
    let mean = means().sum::<f64>() / minutes.len() as f64;
    let least = means().fold(f64::INFINITY, f64::min);
    let greatest = means().fold(f64::NEG_INFINITY, f64::max);
    let line = if minutes.len() >= FEWEST_MINUTES { fit(&minutes) } else { None };
    Some(Trend { followed, unit, mean, least, greatest, minutes, line })
}

/// Least squares; the uncertainty is 1.96 standard errors of the slope.
fn fit(minutes: &[Minute]) -> Option<Line> {
    let count = minutes.len() as f64;
    let mean_x = minutes.iter().map(|minute| minute.hours).sum::<f64>() / count;
    let mean_y = minutes.iter().map(|minute| minute.mean).sum::<f64>() / count;
    let off_center = |minute: &Minute| (minute.hours - mean_x, minute.mean - mean_y);
    let square = |value: f64| value * value;
    let spread: f64 = minutes.iter().map(|minute| square(off_center(minute).0)).sum();
    if spread <= 0.0 {
        return None;
    }
    let slope = minutes.iter().map(off_center).map(|(x, y)| x * y).sum::<f64>() / spread;
    let residual: f64 = minutes.iter().map(off_center).map(|(x, y)| square(y - slope * x)).sum();
    let error = (residual / (count - 2.0) / spread).sqrt();
    Some(Line { per_hour: slope, uncertainty: 1.96 * error })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// University of Guelph, dairy notes, "Regenerator": (65 − 4)/(72 − 4) = 89.7 %.
    #[test]
    fn the_worked_example_of_regeneration() {
        let fraction = regeneration(4.0, 65.0, 72.0);
        assert!(fraction.is_some_and(|fraction| (fraction - 0.897).abs() < 5e-4));
        assert_eq!(regeneration(72.0, 65.0, 72.0), None);
    }

    #[test]
    fn a_line_is_found_with_its_uncertainty() {
        let points: Vec<_> = (0..60)
            .map(|minute| {
                let hours = f64::from(minute) / 60.0;
                let wobble = if minute % 2 == 0 { 0.1 } else { -0.1 };
                Minute { hours, mean: 5.0 + 2.0 * hours + wobble }
            })
            .collect();
        let Some(line) = fit(&points) else { panic!("sixty points") };
        assert!((line.per_hour - 2.0).abs() < line.uncertainty);
        assert!(line.is_significant());
        assert!(line.uncertainty < 0.2, "{line:?}");
    }
}
