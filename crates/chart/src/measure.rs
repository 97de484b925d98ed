//! The span measured between two instants: its length, the least, greatest and mean valid reading
//! of each channel, and the product that passed.
//!
//! Samples on both ends count.

use crate::curves::Curves;
use analysis::Volume;
use case::Case;
use trace::{Interval, Role};

/// What was measured.
#[derive(Debug, Clone, PartialEq)]
pub struct Measured {
    /// The span.
    pub interval: Interval,
    /// How many samples lie in it.
    pub samples: usize,
    /// Each channel that has a valid reading in the span.
    pub channels: Vec<ChannelSpan>,
    /// What went forward.
    pub volume: Volume,
}

/// One channel over the span, in its recorded unit.
#[derive(Debug, Clone, PartialEq)]
pub struct ChannelSpan {
    /// Which.
    pub role: Role,
    /// The sample with the least reading.
    pub least: usize,
    /// The sample with the greatest reading.
    pub greatest: usize,
    /// The mean of the valid readings.
    pub mean: f64,
    /// How many samples of the span are not valid.
    pub invalid: u64,
}

/// Measures a span.
pub fn measure(case: &Case, curves: &Curves, interval: Interval) -> Measured {
    let record = case.record();
    let instants = record.instants();
    let first = instants.partition_point(|&instant| instant < interval.start());
    let end = instants.partition_point(|&instant| instant <= interval.end());
    let samples = end.saturating_sub(first);
    let channels = record
        .channels()
        .into_iter()
        .filter_map(|(role, channel)| {
            let extremes = curves.pyramid(role)?.extremes(channel.mantissas(), first..end)?;
            let (mean, readings) = curves.mean(role, channel, first..end)?;
            Some(ChannelSpan {
                role,
                least: extremes.least,
                greatest: extremes.greatest,
                mean,
                invalid: samples as u64 - readings,
            })
        })
        .collect();
    let volume = case.forward_volume(interval);
    Measured { interval, samples, channels, volume }
}

#[cfg(test)]
mod tests {
    use super::*;
    use analysis::Basis;
    use plant::Plant;
    use trace::ValveState::{Divert, Forward};
    use trace::{
        Channel, Decimal, Differential, FlowUnit, Instant, Invalid, PressureUnit, Reading,
        RunRecord, RunRecordParts, TemperatureUnit, Toward, Unit, ValveState,
    };

    fn channel<U: Unit>(unit: U, tenths: &[Option<i64>]) -> Channel<U> {
        let range = (Decimal::whole(-1000), Decimal::whole(100_000));
        let mut channel = Channel::new(unit, range, Toward::Down);
        for &reading in tenths {
            channel.push(match reading {
                Some(tenths) => Reading::Valid(Decimal::new(tenths, 1)),
                None => Reading::Invalid(Invalid::Blank),
            });
        }
        channel
    }

    /// One sample a second.
    fn case(valve: &[ValveState], temperature: &[Option<i64>], flow: &[Option<i64>]) -> Case {
        let seconds = 0..valve.len() as i64;
        let mut parts = RunRecordParts::needed(
            "invented",
            seconds.map(|second| at(second * 1000)).collect(),
            valve.to_vec(),
            channel(TemperatureUnit::Fahrenheit, temperature),
            Differential::Direct(channel(PressureUnit::Psi, &vec![Some(50); valve.len()])),
        );
        parts.flow_rate = (!flow.is_empty()).then(|| channel(FlowUnit::LitrePerMinute, flow));
        match RunRecord::new(parts) {
            Ok(record) => Case::new(record, Plant::assumed(), Vec::new(), Vec::new()),
            Err(error) => panic!("{error}"),
        }
    }

    fn at(milliseconds: i64) -> Instant {
        Instant::from_unix_milliseconds(milliseconds)
    }

    fn measured(case: &Case, from: i64, to: i64) -> Measured {
        measure(case, &Curves::build(case), Interval::between(at(from), at(to)))
    }

    #[test]
    fn figures_worked_out_by_hand() {
        let case = case(
            &[Forward; 5],
            &[Some(1620), Some(1610), None, Some(1640), Some(1700)],
            &[Some(600), Some(600), Some(1200), Some(1200), Some(1200)],
        );
        let span = measured(&case, 500, 3500);
        assert_eq!(span.samples, 3);
        let temperature = &span.channels[0];
        assert_eq!(
            (temperature.role, temperature.least, temperature.greatest),
            (Role::HoldingTemperature, 1, 3)
        );
        // (161 + 164)/2, one of three samples not valid.
        assert!((temperature.mean - 162.5).abs() < 1e-12);
        assert_eq!(temperature.invalid, 1);
        // 60 L/min is 1 L/s: 0.5 s at 1, 1 s from 1 to 2, 1.5 s at 2 L/s.
        assert_eq!(span.volume.basis, Basis::Metered);
        assert!(span.volume.value.is_some_and(|volume| (volume - 5.0).abs() < 1e-9), "{span:?}");
    }

    #[test]
    fn only_forward_flow_counts_to_the_midpoint() {
        let flow = [Some(600); 4];
        let temperature = [Some(1620); 4];
        let case = case(&[Divert, Forward, Forward, Divert], &temperature, &flow);
        // 1 L/s for 0.5 s + 1 s + 0.5 s.
        let span = measured(&case, 0, 3000);
        assert!(span.volume.value.is_some_and(|volume| (volume - 2.0).abs() < 1e-9), "{span:?}");
    }

    #[test]
    fn what_the_audit_can_not_reckon_with_is_not_measured_either() {
        let temperature = [Some(1620); 4];
        // A meter that drifts below zero passes nothing back.
        let span = measured(&case(&[Forward; 4], &temperature, &[Some(-600); 4]), 0, 3000);
        assert_eq!((span.volume.value, span.volume.basis), (Some(0.0), Basis::Metered));
    }

    #[test]
    fn without_a_usable_flow_the_volume_is_unknown() {
        let temperature = [Some(1620); 4];
        let valve = [Forward; 4];
        let span = measured(&case(&valve, &temperature, &[]), 0, 3000);
        assert_eq!((span.volume.value, span.volume.basis), (None, Basis::Unknown));
        let hole = [Some(600), None, Some(600), Some(600)];
        let span = measured(&case(&valve, &temperature, &hole), 0, 3000);
        assert_eq!((span.volume.value, span.volume.basis), (None, Basis::Unknown));
        let span = measured(&case(&valve, &temperature, &hole), 2000, 3000);
        assert!(span.volume.value.is_some_and(|volume| (volume - 1.0).abs() < 1e-9), "{span:?}");
    }

    #[test]
    fn means_over_blocks_are_those_over_samples() {
        let readings: Vec<Option<i64>> =
            (0..2000).map(|index| (index % 7 != 3).then_some(1500 + index * 37 % 211)).collect();
        let case = case(&vec![Forward; 2000], &readings, &[]);
        let curves = Curves::build(&case);
        let role = Role::HoldingTemperature;
        let Some(channel) = case.record().channel(role) else { panic!("it is always there") };
        for (first, end) in [(0, 2000), (1, 1999), (255, 257), (256, 512), (300, 301), (3, 4)] {
            let valid: Vec<i64> = readings[first..end].iter().copied().flatten().collect();
            let mean = curves.mean(role, channel, first..end);
            match (mean, valid.len()) {
                (None, 0) => {}
                (Some((mean, count)), readings) => {
                    let expected = valid.iter().sum::<i64>() as f64 / readings as f64 / 10.0;
                    assert_eq!(count, readings as u64, "{first}..{end}");
                    assert!((mean - expected).abs() < 1e-9, "{first}..{end}");
                }
                other => panic!("{first}..{end}: {other:?}"),
            }
        }
    }
}
