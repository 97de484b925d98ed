//! What is followed over days, and its line.

use crate::day::Day;
use crate::drift::Drift;
use crate::entry::Entry;
use crate::figure::{Figure, Kind, ShownIn, digits};
use case::{count, plural, signed};
use chrono::NaiveDate;

/// A figure of a day that is followed over many.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Followed {
    /// The least holding temperature above its limit in all forward flow: below 0 where it was short.
    TemperatureMargin,
    /// The same of the differential.
    DifferentialMargin,
    /// The recorder minus the indicating thermometer.
    RecorderOffset,
    /// Pasteurized minus raw while the pumps stood.
    ZeroCheck,
    /// The lowest temperature at which the device left forward flow.
    CutOut,
    /// The mean regeneration efficiency.
    Regeneration,
    /// The mean of heating water above holding temperature.
    Approach,
    /// How often the device left forward flow.
    Diverts,
}

impl Followed {
    /// All of them, in the order of reports.
    pub const ALL: [Self; 8] = [
        Self::TemperatureMargin,
        Self::DifferentialMargin,
        Self::RecorderOffset,
        Self::ZeroCheck,
        Self::CutOut,
        Self::Regeneration,
        Self::Approach,
        Self::Diverts,
    ];

    /// The key in tables.
    pub const fn key(self) -> &'static str {
        match self {
            Self::TemperatureMargin => "worst_temperature",
            Self::DifferentialMargin => "worst_differential",
            Self::RecorderOffset => "recorder_offset",
            Self::ZeroCheck => "zero_check",
            Self::CutOut => "cut_out",
            Self::Regeneration => "regeneration",
            Self::Approach => "approach",
            Self::Diverts => "diverts",
        }
    }

    /// The name for a person.
    pub const fn name(self) -> &'static str {
        match self {
            Self::TemperatureMargin => "Lowest temperature margin",
            Self::DifferentialMargin => "Lowest differential margin",
            Self::RecorderOffset => "Recorder minus indicating thermometer",
            Self::ZeroCheck => "Differential at standstill (zero check)",
            Self::CutOut => "Lowest temperature on leaving forward flow",
            Self::Regeneration => "Regeneration efficiency",
            Self::Approach => "Heating-water approach",
            Self::Diverts => "Diverts per day",
        }
    }

    /// Whether zero is where a margin ends.
    pub const fn is_margin(self) -> bool {
        matches!(self, Self::TemperatureMargin | Self::DifferentialMargin)
    }

    /// Whether it is a reading, or how far two are apart.
    pub const fn kind(self) -> Kind {
        match self {
            Self::CutOut | Self::Regeneration | Self::Diverts => Kind::Reading,
            Self::TemperatureMargin
            | Self::DifferentialMargin
            | Self::RecorderOffset
            | Self::ZeroCheck
            | Self::Approach => Kind::Difference,
        }
    }

    /// The figure of a day; `None` where the record does not give it.
    pub fn of(self, day: &Day) -> Option<Figure> {
        match self {
            Self::TemperatureMargin => day.worst_temperature.clone(),
            Self::DifferentialMargin => day.worst_differential.clone(),
            Self::RecorderOffset => day.recorder_offset.clone(),
            Self::ZeroCheck => day.zero_check.clone(),
            Self::CutOut => day.cut_out.clone(),
            Self::Regeneration => day.regeneration.clone(),
            Self::Approach => day.approach.clone(),
            Self::Diverts => Some(Figure { value: day.diverts as f64, unit: String::new() }),
        }
    }
}

/// A figure over the days of one pasteurizer.
#[derive(Debug, Clone, PartialEq)]
pub struct Series {
    /// What is followed.
    pub followed: Followed,
    /// The pasteurizer.
    pub unit: String,
    /// The symbol of the figures' unit.
    pub symbol: String,
    /// Date and figure, in order of dates.
    pub points: Vec<(NaiveDate, f64)>,
    /// The line through them, where there are days enough.
    pub drift: Option<Drift>,
}

impl Series {
    /// All series of the records that can be read: one for each pasteurizer and unit of measure, so
    /// that figures in different units are never drawn on one scale.
    pub fn all(entries: &[&Entry]) -> Vec<Self> {
        let mut series: Vec<Self> = Vec::new();
        for followed in Followed::ALL {
            let before = series.len();
            for day in entries.iter().filter_map(|entry| entry.day.as_ref().ok()) {
                let Some(figure) = followed.of(day) else { continue };
                let unit = &day.subject.unit;
                let same = series.iter_mut().skip(before);
                let mut same = same.filter(|one| one.unit == *unit && one.symbol == figure.unit);
                match same.next() {
                    Some(one) => one.points.push((day.date, figure.value)),
                    None => series.push(Self {
                        followed,
                        unit: unit.clone(),
                        symbol: figure.unit,
                        points: vec![(day.date, figure.value)],
                        drift: None,
                    }),
                }
            }
        }
        for one in &mut series {
            one.points.sort_by_key(|(date, _)| *date);
            let epoch = NaiveDate::default();
            let points: Vec<(i64, f64)> = one
                .points
                .iter()
                .map(|(date, value)| ((*date - epoch).num_days(), *value))
                .collect();
            one.drift = Drift::of(&points);
        }
        series
    }

    /// The same in the units that are shown. Nothing is told anew by it: the line goes along.
    pub fn shown_in(&self, units: ShownIn) -> Self {
        let (symbol, kind) = (self.symbol.as_str(), self.followed.kind());
        let reading = |value| units.convert(value, symbol, kind).0;
        let change = |value| units.convert(value, symbol, Kind::Difference).0;
        let drift = self.drift.map(|Drift { per_day, low, high, last, days }| Drift {
            per_day: change(per_day),
            low: change(low),
            high: change(high),
            last: reading(last),
            days,
        });
        Self {
            followed: self.followed,
            unit: self.unit.clone(),
            symbol: units.convert(0.0, symbol, kind).1.to_owned(),
            points: self.points.iter().map(|(date, value)| (*date, reading(*value))).collect(),
            drift,
        }
    }

    /// Whether a figure is short of its limit, which only a margin can be.
    pub const fn is_short(&self, value: f64) -> bool {
        self.followed.is_margin() && value < 0.0
    }

    /// What is followed, of which pasteurizer.
    pub fn title(&self) -> String {
        format!("{}, {}", self.followed.name(), self.unit)
    }

    /// The least and the greatest figure to draw: all there are, the end of a margin, and counts
    /// from zero and never over less than one.
    pub fn extent(&self) -> (f64, f64) {
        let ends: &[f64] = match self.followed {
            Followed::Diverts => &[0.0, 1.0],
            Followed::TemperatureMargin | Followed::DifferentialMargin | Followed::ZeroCheck => {
                &[0.0]
            }
            Followed::RecorderOffset
            | Followed::CutOut
            | Followed::Regeneration
            | Followed::Approach => &[],
        };
        let values = self.points.iter().map(|(_, value)| *value).chain(ends.iter().copied());
        values.fold((f64::INFINITY, f64::NEG_INFINITY), |(least, greatest), value| {
            (least.min(value), greatest.max(value))
        })
    }

    /// The ends of the line, over the days that it rests on; `None` where no change is told from none.
    pub fn line(&self) -> Option<[(NaiveDate, f64); 2]> {
        let drift = self.drift.filter(Drift::is_significant)?;
        let (first, _) = *self.points.get(self.points.len().checked_sub(drift.days)?)?;
        let (last, _) = *self.points.last()?;
        let span = (last - first).num_days() as f64;
        Some([(first, drift.last - drift.per_day * span), (last, drift.last)])
    }

    /// What the line says, or that there is none, in a sentence.
    pub fn sentence(&self) -> String {
        let Some(drift) = self.drift else {
            let records = plural(self.points.len(), "record");
            return format!("Too few records for a trend ({records}).");
        };
        let Drift { per_day, low, high, days, .. } = drift;
        let symbol =
            if self.symbol.is_empty() { String::new() } else { format!(" {}", self.symbol) };
        let records = if days < self.points.len() {
            format!("the last {} records", count(days))
        } else {
            plural(days, "record")
        };
        if !drift.is_significant() {
            return format!("No significant drift ({records}).");
        }
        let digits = digits(&self.symbol) + 1;
        let week = 7.0 * per_day;
        let (least, greatest) = (7.0 * low, 7.0 * high);
        let used_up = self.followed.is_margin().then(|| drift.used_up()).flatten();
        let used_up = used_up.map_or_else(String::new, |used_up| {
            format!(
                " At this rate the margin is used up in {:.0} days (95 %: {:.0} to {:.0}).",
                used_up.days.floor(),
                used_up.soonest.floor(),
                used_up.latest.ceil(),
            )
        });
        format!(
            "It changes by {}{symbol} per week (95 %: {} to {}) over {records}.{used_up}",
            signed(week, digits),
            signed(least, digits),
            signed(greatest, digits)
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use trace::{PressureUnit, TemperatureUnit};

    /// A margin is short below zero; an offset or a count never is.
    #[test]
    fn only_a_margin_below_zero_is_short() {
        for followed in Followed::ALL {
            let series = Series {
                followed,
                unit: String::new(),
                symbol: String::new(),
                points: Vec::new(),
                drift: None,
            };
            let is_margin =
                matches!(followed, Followed::TemperatureMargin | Followed::DifferentialMargin);
            let found = [-0.1, 0.0, 0.1].map(|value| series.is_short(value));
            assert_eq!(found, [is_margin, false, false], "{followed:?}");
        }
    }

    /// A line through converted points is the converted line, since every slope changes alike: the
    /// window and the pages tell the same.
    #[test]
    fn the_line_goes_along_with_the_units() {
        let dates = NaiveDate::default().iter_days().take(14);
        let values = [4.0, 3.9, 4.1, 3.6, 3.7, 3.4, 3.5, 3.0, 3.2, 2.9, 2.7, 2.8, 2.2, 2.4];
        let units = ShownIn {
            temperature: Some(TemperatureUnit::Celsius),
            pressure: Some(PressureUnit::Kilopascal),
        };
        for (followed, symbol, shown) in [
            (Followed::TemperatureMargin, "°F", "°C"),
            (Followed::CutOut, "°F", "°C"),
            (Followed::DifferentialMargin, "psi", "kPa"),
            (Followed::Regeneration, "%", "%"),
        ] {
            let points: Vec<(NaiveDate, f64)> = dates.clone().zip(values).collect();
            let drift = |points: &[(NaiveDate, f64)]| {
                let days = points.iter().enumerate().map(|(day, (_, value))| (day as i64, *value));
                Drift::of(&days.collect::<Vec<_>>())
            };
            let unit = "HTST-1".to_owned();
            let recorded =
                Series { followed, unit, symbol: symbol.to_owned(), drift: drift(&points), points };
            let there = recorded.shown_in(units);
            assert_eq!(there.symbol, shown);
            let (Some(one), Some(other)) = (there.drift, drift(&there.points)) else {
                panic!("{symbol}: 14 days have a line")
            };
            for (one, other) in [
                (one.per_day, other.per_day),
                (one.low, other.low),
                (one.high, other.high),
                (one.last, other.last),
            ] {
                assert!((one - other).abs() < 1e-9, "{symbol}: {one} and {other}");
            }
            let days = |series: &Series| series.drift.and_then(|drift| drift.used_up());
            let (one, other) = (days(&recorded), days(&there));
            if followed.is_margin() {
                let (Some(one), Some(other)) = (one, other) else { panic!("{symbol}: it falls") };
                assert!(
                    (one.days - other.days).abs() < 1e-9,
                    "{symbol}: a margin is used up as soon"
                );
            }
        }
    }
}
