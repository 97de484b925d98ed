//! The means of whole minutes of forward flow behind each trend, for drawing. They are formed as
//! the audit forms them, so that its line lies among them; the line itself comes from the audit.

use analysis::{Audit, Followed, regeneration};
use trace::{ChannelView, Role, RunRecord, TemperatureUnit, ValveState};

/// The minutes of one trend.
#[derive(Debug, Clone, PartialEq)]
pub struct Minutes {
    /// What is followed.
    pub followed: Followed,
    /// Hours since the record began, and the mean of that minute.
    pub means: Vec<[f64; 2]>,
}

/// The minutes of every trend in the audit, in its order.
pub(super) fn minutes(record: &RunRecord, audit: &Audit) -> Vec<Minutes> {
    let holding = record.holding_temperature();
    let temperature = |role: Role, sample: usize| match record.channel(role)? {
        ChannelView::Temperature(channel) => channel
            .value(sample)
            .map(|value| TemperatureUnit::convert(channel.unit(), value, holding.unit())),
        ChannelView::Pressure(_) | ChannelView::Flow(_) => None,
    };
    let of = |followed: Followed, sample: usize| match followed {
        Followed::Regeneration => regeneration(
            temperature(Role::RawTemperature, sample)?,
            temperature(Role::RegeneratedTemperature, sample)?,
            holding.value(sample)?,
        )
        .map(|fraction| 100.0 * fraction),
        Followed::Approach => {
            Some(temperature(Role::HeatingWaterTemperature, sample)? - holding.value(sample)?)
        }
        Followed::DifferentialMargin => {
            Some(record.differential().value(sample)? - audit.differential_limit)
        }
    };
    let start = record.interval().start();
    let series = audit.trends.iter().map(|trend| {
        let mut means: Vec<[f64; 2]> = Vec::new();
        let mut held: Option<(i64, f64, u32)> = None;
        let mut close = |held: Option<(i64, f64, u32)>| {
            if let Some((minute, sum, count)) = held {
                means.push([minute as f64 / 60.0, sum / f64::from(count)]);
            }
        };
        for (sample, instant) in record.instants().iter().enumerate() {
            if record.valve().get(sample) != Some(&ValveState::Forward) {
                continue;
            }
            let Some(value) = of(trend.followed, sample) else { continue };
            let minute = instant.since(start).milliseconds() / 60_000;
            match &mut held {
                Some((same, sum, count)) if *same == minute => {
                    *sum += value;
                    *count += 1;
                }
                _ => {
                    close(held);
                    held = Some((minute, value, 1));
                }
            }
        }
        close(held);
        Minutes { followed: trend.followed, means }
    });
    series.collect()
}
