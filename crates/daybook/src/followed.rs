//! What is followed over days, and its line.

use crate::day::{Day, Figure};
use crate::drift::Drift;
use crate::entry::Entry;
use crate::text::add;
use chrono::NaiveDate;
use report::plural;

/// A figure of a day that is followed over many.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Followed {
    /// The least holding temperature above its limit in compliant forward flow.
    TemperatureMargin,
    /// The least differential above its limit in compliant forward flow.
    DifferentialMargin,
    /// The recorder minus the indicating thermometer.
    RecorderOffset,
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
    pub const ALL: [Self; 7] = [
        Self::TemperatureMargin,
        Self::DifferentialMargin,
        Self::RecorderOffset,
        Self::CutOut,
        Self::Regeneration,
        Self::Approach,
        Self::Diverts,
    ];

    /// The key in tables.
    pub const fn key(self) -> &'static str {
        match self {
            Self::TemperatureMargin => "temperature_margin",
            Self::DifferentialMargin => "differential_margin",
            Self::RecorderOffset => "recorder_offset",
            Self::CutOut => "cut_out",
            Self::Regeneration => "regeneration",
            Self::Approach => "approach",
            Self::Diverts => "diverts",
        }
    }

    /// The name for a person.
    pub const fn name(self) -> &'static str {
        match self {
            Self::TemperatureMargin => "Least temperature margin",
            Self::DifferentialMargin => "Least differential margin",
            Self::RecorderOffset => "Recorder minus indicating thermometer",
            Self::CutOut => "Lowest cut-out temperature",
            Self::Regeneration => "Regeneration efficiency",
            Self::Approach => "Heating water above holding temperature",
            Self::Diverts => "Diverts a day",
        }
    }

    /// Whether nought is where a margin ends.
    pub const fn is_margin(self) -> bool {
        matches!(self, Self::TemperatureMargin | Self::DifferentialMargin)
    }

    /// The figure of a day; `None` where the record does not give it.
    pub fn of(self, day: &Day) -> Option<Figure> {
        match self {
            Self::TemperatureMargin => day.temperature_margin.clone(),
            Self::DifferentialMargin => day.differential_margin.clone(),
            Self::RecorderOffset => day.recorder_offset.clone(),
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

    /// What is followed, of which pasteurizer.
    pub fn title(&self) -> String {
        format!("{}, {}", self.followed.name(), self.unit)
    }

    /// The least and the greatest figure to draw: all there are, the end of a margin, and counts
    /// from nought and never over less than one.
    pub fn extent(&self) -> (f64, f64) {
        let ends: &[f64] = match self.followed {
            Followed::Diverts => &[0.0, 1.0],
            Followed::TemperatureMargin | Followed::DifferentialMargin => &[0.0],
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

    /// What the line says, or that there is none, in a sentence.
    pub fn sentence(&self) -> String {
        let Some(drift) = self.drift else {
            return format!("{} are too few for a line.", plural(self.points.len(), "record"));
        };
        let Drift { per_day, low, high, days, .. } = drift;
        let symbol =
            if self.symbol.is_empty() { String::new() } else { format!(" {}", self.symbol) };
        if !drift.is_significant() {
            return format!("No drift is told from none over {days} records.");
        }
        let week = 7.0 * per_day;
        let (least, greatest) = (7.0 * low, 7.0 * high);
        let mut text = format!(
            "It changes by {week:+.2}{symbol} a week (95 %: {least:+.2} to {greatest:+.2}) over {days} \
             records."
        );
        if self.followed.is_margin()
            && let Some(used_up) = drift.used_up()
        {
            add(
                &mut text,
                format_args!(
                    " At this rate the margin is used up in {:.0} days (95 %: {:.0} to {:.0}).",
                    used_up.days.floor(),
                    used_up.soonest.floor(),
                    used_up.latest.ceil(),
                ),
            );
        }
        text
    }
}
