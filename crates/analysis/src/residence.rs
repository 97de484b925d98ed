//! How long each parcel was held: the residence time at every sample (method, section 7).
//!
//! The parcel that leaves the tube at instant t entered it when the tube's effective volume V had
//! still to pass. So its residence time τ is the one for which the recorded flow, integrated over
//! [t − τ, t] with straight lines between samples, equals V. The pass keeps the window [t − τ, t]
//! between two moving ends; whether τ is short of the minimum is decided with integers.

use crate::limits::LimitSpan;
use plant::{Plant, Tube};
use trace::{
    Channel, ChannelView, Duration, FlowUnit, Instant, Ratio, RunRecord, VolumeUnit, power_of_ten,
};

/// The residence time at every sample, in milliseconds; see [`Residence::milliseconds`].
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Residence {
    milliseconds: Vec<i64>,
}

/// Stands for a sample whose residence time is not known.
const NOT_KNOWN: i64 = i64::MIN;

impl Residence {
    /// One figure a sample: seconds with three digits behind the mark, as an integer; the least
    /// integer where it is not known, which [`ChannelView::is_valid`] tells as for a channel.
    pub fn milliseconds(&self) -> &[i64] {
        &self.milliseconds
    }

    /// The residence time of the parcel that leaves at a sample.
    pub fn at(&self, sample: usize) -> Option<Duration> {
        self.milliseconds
            .get(sample)
            .filter(|&&milliseconds| ChannelView::is_valid(milliseconds))
            .map(|&milliseconds| Duration::from_milliseconds(milliseconds))
    }
}

/// What the holding time rule says of a sample.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Held {
    Legal,
    Short,
    Unknown,
}

/// A volume in twice the channel's mantissas times milliseconds, exact.
#[derive(Clone, Copy)]
struct Twice {
    ratio: Ratio,
    /// The least integer that is not below it: integers are as great as the volume from this one on.
    least: i128,
}

impl From<Ratio> for Twice {
    fn from(ratio: Ratio) -> Self {
        let (numerator, denominator) = (ratio.numerator(), ratio.denominator());
        let least =
            numerator.div_euclid(denominator) + i128::from(numerator.rem_euclid(denominator) != 0);
        Self { ratio, least }
    }
}

/// The tube's effective volume for one product, before its geometry is asked about the flow.
#[derive(Clone, Copy)]
enum Effective<'a> {
    Fixed(Twice),
    ByFlow { geometry: &'a plant::Geometry, factor: f64, unit: FlowUnit, scale: u8 },
}

impl<'a> Effective<'a> {
    fn of(tube: &'a Tube, span: &LimitSpan, channel: &Channel<FlowUnit>) -> Self {
        match tube {
            Tube::Certified(certificate) | Tube::Both(certificate, _) => {
                let flow = certificate.test_flow;
                let from = flow.unit.litres_per_hour();
                let to = channel.unit().litres_per_hour();
                let power = |scale| i128::from(power_of_ten(scale));
                let numerator = 2
                    * i128::from(flow.value.mantissa())
                    * i128::from(certificate.test_time.milliseconds())
                    * i128::from(span.factor.mantissa());
                let fixed = reduced(numerator, power(flow.value.scale()))
                    .and_then(|one| times(one, power(channel.scale()), power(span.factor.scale())))
                    .and_then(|one| times(one, from.numerator(), from.denominator()))
                    .and_then(|one| times(one, to.denominator(), to.numerator()));
                let fixed = fixed.unwrap_or_else(|| {
                    // Figures with so many digits that no exact fraction holds them.
                    let volume = 2.0
                        * flow.in_unit(channel.unit())
                        * certificate.test_time.milliseconds() as f64
                        * span.factor.to_f64()
                        * power_of_ten(channel.scale()) as f64;
                    whole(volume)
                });
                Self::Fixed(fixed.into())
            }
            Tube::Measured(geometry) => Self::ByFlow {
                geometry,
                factor: span.factor.to_f64(),
                unit: channel.unit(),
                scale: channel.scale(),
            },
        }
    }

    fn twice(self, mantissa: i64) -> Twice {
        match self {
            Self::Fixed(twice) => twice,
            Self::ByFlow { geometry, factor, unit, scale } => {
                let power = power_of_ten(scale) as f64;
                let flow = mantissa.max(0) as f64 / power;
                let litres_per_hour = unit.convert(flow, FlowUnit::LitrePerHour);
                let litres = geometry.effective_litres(litres_per_hour) * factor;
                let in_unit = FlowUnit::LitrePerHour.convert(litres, unit) * 3_600_000.0;
                whole(2.0 * in_unit * power).into()
            }
        }
    }
}

/// A volume that is no exact fraction, cut to a whole figure: less volume is less time.
fn whole(volume: f64) -> Ratio {
    Ratio::new(volume.floor() as i128, 1)
}

fn reduced(numerator: i128, denominator: i128) -> Option<Ratio> {
    let (mut one, mut other) = (numerator.unsigned_abs(), denominator.unsigned_abs());
    while other != 0 {
        (one, other) = (other, one % other);
    }
    let divisor = i128::try_from(one).ok().filter(|&divisor| divisor > 0)?;
    Some(Ratio::new(numerator / divisor, denominator / divisor))
}

fn times(ratio: Ratio, numerator: i128, denominator: i128) -> Option<Ratio> {
    reduced(
        ratio.numerator().checked_mul(numerator)?,
        ratio.denominator().checked_mul(denominator)?,
    )
}

/// Whether `a · b < c · d`; exact unless the products have more than 38 digits.
fn product_less((a, b): (i128, i128), (c, d): (i128, i128)) -> bool {
    match (a.checked_mul(b), c.checked_mul(d)) {
        (Some(left), Some(right)) => left < right,
        _ => (a as f64) * (b as f64) < (c as f64) * (d as f64),
    }
}

/// The nearest binary number; most figures fit 64 bits, which convert much faster.
fn nearest(figure: i128) -> f64 {
    /// Out of the way, or the compiler takes this one for both, as they agree.
    #[cold]
    #[inline(never)]
    fn large(figure: i128) -> f64 {
        figure as f64
    }
    i64::try_from(figure).map_or_else(|_large| large(figure), |figure| figure as f64)
}

/// A product, at most the greatest integer; most factors fit 64 bits, which multiply much faster.
fn product(one: i128, other: i128) -> i128 {
    match (i64::try_from(one), i64::try_from(other)) {
        (Ok(one), Ok(other)) => i128::from(one) * i128::from(other),
        _ => one.saturating_mul(other),
    }
}

/// The window between the moving ends: whole steps from sample `first` to the present one.
struct Window<'a> {
    instants: &'a [Instant],
    flow: &'a [i64],
    /// The first sample of the unbroken stretch of valid flow.
    stretch: usize,
    first: usize,
    /// Twice the integral over the window, in mantissas times milliseconds.
    inside: i128,
}

impl Window<'_> {
    /// A flow below zero is the meter's zero drift; parcels do not run back.
    fn flow(&self, sample: usize) -> i64 {
        self.flow[sample].max(0)
    }

    fn step(&self, sample: usize) -> i64 {
        self.instants[sample + 1].since(self.instants[sample]).milliseconds()
    }

    /// Twice the integral over the step after `sample`.
    fn trapezoid(&self, sample: usize) -> i128 {
        // Mantissas of a channel leave room for a sum of two.
        i128::from(self.flow(sample) + self.flow(sample + 1)) * i128::from(self.step(sample))
    }

    /// Whether the window with `inside` holds at least the volume.
    const fn holds(inside: i128, volume: Twice) -> bool {
        inside >= volume.least
    }

    /// Moves the first end to the last sample from which the volume has passed; false when it has
    /// not passed since the stretch began.
    fn fit(&mut self, sample: usize, volume: Twice) -> bool {
        // A greater volume than for the sample before, after a change of product.
        while !Self::holds(self.inside, volume) && self.first > self.stretch {
            self.first -= 1;
            self.inside += self.trapezoid(self.first);
        }
        if !Self::holds(self.inside, volume) {
            return false;
        }
        while self.first < sample {
            let rest = self.inside - self.trapezoid(self.first);
            if !Self::holds(rest, volume) {
                break;
            }
            self.inside = rest;
            self.first += 1;
        }
        true
    }

    /// The residence time and whether it is short of `minimum`, for a window that fits.
    fn held(&self, sample: usize, volume: Twice, minimum: Duration) -> (i64, bool) {
        let at = self.instants[sample];
        let begin = self.instants[self.first];
        let since_begin = at.since(begin).milliseconds();
        if self.first == sample {
            // No volume at all: a tube of no length.
            return (0, minimum > Duration::ZERO);
        }
        // The entry lies in the step after `first`: twice the integral from there to the entry
        // is what the window holds too much.
        let (numerator, denominator) = (volume.ratio.numerator(), volume.ratio.denominator());
        let excess = product(self.inside, denominator).saturating_sub(numerator);
        let [from, to, step] =
            [self.flow(self.first), self.flow(self.first + 1), self.step(self.first)]
                .map(i128::from);

        // Short when less than the excess passes up to the latest entry that is long enough.
        let latest = i128::from(since_begin - minimum.milliseconds());
        let short = if latest < 0 {
            true
        } else if latest >= step {
            false
        } else {
            let passed = 2 * from * latest * step + (to - from) * latest * latest;
            product_less((passed, denominator), (excess, step))
        };

        let excess = nearest(excess) / nearest(denominator);
        let step = nearest(step);
        let (from, slope) = (nearest(from), nearest(to - from) / step);
        let root = (from * from + slope * excess).max(0.0).sqrt();
        // Flow that begins at zero just where the volume is reached: the entry is the sample.
        let entry = if from + root > 0.0 { excess / (from + root) } else { 0.0 };
        // To the nearest millisecond, an exact half to the later one: no residence time is below zero.
        let exact = since_begin as f64 - entry.clamp(0.0, step);
        let residence = (exact + 0.5) as i64;
        // Rounding must not contradict the exact decision.
        let residence = if short {
            residence.min(minimum.milliseconds() - 1)
        } else {
            residence.max(minimum.milliseconds())
        };
        (residence, short)
    }
}

/// Whether the flow that is read at a sample is above the one at which the tube holds for just the
/// minimum, whatever flowed before.
pub(crate) fn flows_too_fast(
    record: &RunRecord,
    plant: &Plant,
    span: &LimitSpan,
    sample: usize,
) -> bool {
    let (Some(channel), Some(tube)) = (record.flow_rate(), plant.tube.as_ref()) else {
        return false;
    };
    let mantissa = channel.mantissas()[sample];
    let volume = Effective::of(tube, span, channel).twice(mantissa);
    ChannelView::is_valid(mantissa) && is_too_fast(mantissa, volume, span.minimum_time)
}

/// The greatest steady flow, in the channel's unit, at which the tube holds for just the minimum of a
/// span; `mantissa` is the flow that a tube known by its measures is asked about.
pub(crate) fn greatest_flow(
    record: &RunRecord,
    plant: &Plant,
    span: &LimitSpan,
    mantissa: i64,
) -> Option<f64> {
    let (channel, tube) = (record.flow_rate()?, plant.tube.as_ref()?);
    let twice = Effective::of(tube, span, channel).twice(mantissa).ratio.to_f64();
    let time = span.minimum_time.milliseconds() as f64;
    Some(twice / 2.0 / time / power_of_ten(channel.scale()) as f64)
}

/// The tube's effective volume in the meter's unit, whatever the product's factor; of a tube that is
/// known by its measures only at the flow of the sample, else at the nominal one.
pub(crate) fn effective_volume(
    record: &RunRecord,
    plant: &Plant,
    sample: usize,
) -> Option<(f64, VolumeUnit)> {
    let tube = plant.tube.as_ref()?;
    let (volume, own) = match tube.certificate() {
        Some(test) => {
            let flow = test.test_flow;
            let passed = flow.value.to_f64() * flow.unit.volume_per_millisecond();
            (passed * test.test_time.milliseconds() as f64, flow.unit.volume())
        }
        None => {
            let read = record.flow_rate().and_then(|channel| {
                let value = channel.value(sample)?.max(0.0);
                Some(channel.unit().convert(value, FlowUnit::LitrePerHour))
            });
            let nominal = || Some(plant.nominal_flow?.in_unit(FlowUnit::LitrePerHour));
            (tube.geometry()?.effective_litres(read.or_else(nominal)?), VolumeUnit::Litre)
        }
    };
    let unit = crate::volume::unit(record, plant);
    Some((own.convert(volume, unit), unit))
}

/// Whether a steady flow empties the volume in less than the minimum.
fn is_too_fast(mantissa: i64, volume: Twice, minimum: Duration) -> bool {
    let (twice, time) = (2 * i128::from(mantissa.max(0)), i128::from(minimum.milliseconds()));
    match twice.checked_mul(time) {
        Some(passed) => {
            let ratio = volume.ratio;
            product_less((ratio.numerator(), 1), (passed, ratio.denominator()))
        }
        None => true,
    }
}

/// The residence time and the verdict at every sample; `None` without a flow or a tube.
pub(crate) fn judge(
    record: &RunRecord,
    plant: &Plant,
    spans: &[LimitSpan],
    gap_after: impl Fn(usize) -> bool,
    usable: impl Fn(usize) -> bool,
    mut verdict: impl FnMut(usize, Held),
) -> Option<Residence> {
    let channel = record.flow_rate()?;
    let tube = plant.tube.as_ref()?;
    let flow = channel.mantissas();
    let mut milliseconds = vec![NOT_KNOWN; record.samples()];
    let mut window = Window { instants: record.instants(), flow, stretch: 0, first: 0, inside: 0 };
    // Whether the stretch began with the record, and the greatest flow since.
    let mut start_up = true;
    let mut greatest = 0_i64;
    let mut broken = true;
    for span in spans {
        let effective = Effective::of(tube, span, channel);
        for sample in span.first..=span.last {
            let usable = usable(sample);
            if sample > 0 && (broken || gap_after(sample - 1)) {
                // A hole: nothing is known of the flow in it.
                (window.stretch, window.first, window.inside) = (sample, sample, 0);
                start_up = false;
            } else if sample > 0 {
                window.inside += window.trapezoid(sample - 1);
            }
            if sample == 0 {
                start_up = usable;
            }
            broken = !usable;
            if !usable {
                verdict(sample, Held::Unknown);
                continue;
            }
            greatest = greatest.max(flow[sample]);
            let volume = effective.twice(flow[sample]);
            if window.fit(sample, volume) {
                let (residence, short) = window.held(sample, volume, span.minimum_time);
                milliseconds[sample] = residence;
                verdict(sample, if short { Held::Short } else { Held::Legal });
            } else if start_up {
                // Judged by the flow at which the tube holds for just the minimum.
                let too_fast = is_too_fast(greatest, volume, span.minimum_time);
                verdict(sample, if too_fast { Held::Short } else { Held::Legal });
            } else {
                verdict(sample, Held::Unknown);
            }
        }
    }
    Some(Residence { milliseconds })
}

#[cfg(test)]
mod tests {
    use super::*;
    use plant::{Certificate, Flow, Product, Products, row};
    use trace::{
        Decimal, Differential, Invalid, PressureUnit, Reading, RunRecordParts, TemperatureUnit,
        Toward, ValveState,
    };

    /// A record at 1 Hz whose flow in L/h is given, all else safe; `None` is an invalid reading.
    fn record(flows: &[Option<Decimal>]) -> RunRecord {
        let range = (Decimal::whole(-1000), Decimal::whole(200_000));
        let mut flow = Channel::new(FlowUnit::LitrePerHour, range, Toward::Up);
        let mut temperature = Channel::new(TemperatureUnit::Celsius, range, Toward::Down);
        let mut differential = Channel::new(PressureUnit::Kilopascal, range, Toward::Down);
        for reading in flows {
            flow.push(reading.map_or(Reading::Invalid(Invalid::Blank), Reading::Valid));
            temperature.push(Reading::Valid(Decimal::whole(74)));
            differential.push(Reading::Valid(Decimal::whole(30)));
        }
        let instants = (0..flows.len() as i64)
            .map(|second| Instant::from_unix_milliseconds(second * 1000))
            .collect();
        let valve = vec![ValveState::Forward; flows.len()];
        let differential = Differential::Direct(differential);
        let mut parts = RunRecordParts::needed("unit", instants, valve, temperature, differential);
        parts.flow_rate = Some(flow);
        match RunRecord::new(parts) {
            Ok(record) => record,
            Err(error) => panic!("{error}"),
        }
    }

    fn certified(flow: i64, milliseconds: i64) -> Tube {
        Tube::Certified(Certificate {
            test_flow: Flow { value: Decimal::whole(flow), unit: FlowUnit::LitrePerHour },
            test_time: Duration::from_milliseconds(milliseconds),
            tested_on: None,
            tested_by: None,
        })
    }

    fn judged(record: &RunRecord, plant: &Plant) -> (Vec<Option<i64>>, Vec<Held>) {
        let spans = crate::limits::temperature_spans(record, plant);
        let mut verdicts = vec![Held::Legal; record.samples()];
        let residence = judge(
            record,
            plant,
            &spans,
            |_| false,
            |sample| {
                ChannelView::is_valid(record.flow_rate().map_or(0, |flow| flow.mantissas()[sample]))
            },
            |sample, held| {
                verdicts[sample] = held;
            },
        );
        let Some(residence) = residence else { panic!("a flow and a tube") };
        let times = (0..record.samples())
            .map(|sample| residence.at(sample).map(Duration::milliseconds))
            .collect();
        (times, verdicts)
    }

    fn plant_with(tube: Tube) -> Plant {
        Plant { tube: Some(tube), ..Plant::assumed() }
    }

    fn constant(flow: Decimal) -> RunRecord {
        record(&[Some(flow); 40])
    }

    /// Arithmetic: holding time scales as 1/Q. 16.2 s at 6000 L/h is 15.43 s at 6300, 15.00 at 6480,
    /// 14.73 at 6600; and equal to the minimum is legal.
    #[test]
    fn constant_flow() {
        let plant = plant_with(certified(6000, 16_200));
        for (flow, milliseconds, held) in [
            (Decimal::whole(6000), 16_200, Held::Legal),
            (Decimal::whole(6300), 15_429, Held::Legal),
            (Decimal::whole(6480), 15_000, Held::Legal),
            (Decimal::new(64_801, 1), 14_999, Held::Short),
            (Decimal::whole(6600), 14_727, Held::Short),
        ] {
            let (times, verdicts) = judged(&constant(flow), &plant);
            assert_eq!(times.last(), Some(&Some(milliseconds)), "{flow}");
            assert_eq!(verdicts.last(), Some(&held), "{flow}");
        }
    }

    /// With factors from the printed pairs, the times that a tracer found in tubes of 26 s and 16 s
    /// by the salt test: Dickerson, Scalzo, Read and Parker 1968, J. Dairy Sci. 51(11):1731–1736
    /// (abstract seen).
    #[test]
    fn viscous_products_of_dickerson() {
        for (salt, tracer) in [
            (26_000, 21_900),
            (26_000, 23_500),
            (26_000, 22_700),
            (26_000, 17_200),
            (16_000, 15_800),
            (16_000, 15_500),
        ] {
            let mut plant = plant_with(certified(6000, salt));
            let Some(milk) = row("us-milk-15s") else { panic!("a built-in row") };
            // Six digits of tracer/salt are far below a millisecond.
            let factor = Decimal::new((f64::from(tracer) / salt as f64 * 1e9).round() as i64, 9);
            let product = Product { factor, ..Product::from_row("viscous", milk) };
            plant.products = Products::new(product, Vec::new(), 0);
            let (times, _) = judged(&constant(Decimal::whole(6000)), &plant);
            let last = times.last().copied().flatten();
            assert!(last.is_some_and(|last| (last - i64::from(tracer)).abs() <= 1), "{last:?}");
        }
    }

    /// A linear ramp q = q₀ + r t in closed form: τ = (q − √(q² − 2 r V))/r with q at the exit.
    #[test]
    fn a_linear_ramp_in_closed_form() {
        let ramp: Vec<_> = (0..60).map(|second| Some(Decimal::whole(5000 + 20 * second))).collect();
        let (times, _) = judged(&record(&ramp), &plant_with(certified(6000, 16_200)));
        let volume = 6000.0 * 16.2;
        for second in 30..60 {
            let (exit, rate) = (5000.0 + 20.0 * f64::from(second), 20.0_f64);
            let exact = (exit - (exit * exit - 2.0 * rate * volume).sqrt()) / rate;
            let found = times[second as usize].map_or(f64::NAN, |time| time as f64 / 1000.0);
            assert!((found - exact).abs() <= 0.001, "{second}: {found} {exact}");
        }
    }

    #[test]
    fn product_that_stood_in_the_tube_stays_longer() {
        let mut flows = vec![Some(Decimal::whole(6000)); 80];
        for flow in &mut flows[30..50] {
            *flow = Some(Decimal::ZERO);
        }
        let (times, verdicts) = judged(&record(&flows), &plant_with(certified(6000, 16_200)));
        // Nineteen steps without flow and two half ones.
        assert_eq!(times[55], Some(16_200 + 20_000));
        assert!(verdicts.iter().all(|held| *held == Held::Legal));
    }

    #[test]
    fn a_hole_in_the_flow_is_unknown_until_the_volume_has_passed() {
        let mut flows = vec![Some(Decimal::whole(6000)); 60];
        flows[30] = None;
        let (times, verdicts) = judged(&record(&flows), &plant_with(certified(6000, 16_200)));
        assert_eq!(
            (verdicts[29], verdicts[30], verdicts[31]),
            (Held::Legal, Held::Unknown, Held::Unknown)
        );
        // From sample 31 on 16.2 s of flow are known at sample 48.
        assert_eq!((verdicts[47], verdicts[48]), (Held::Unknown, Held::Legal));
        assert_eq!((times[47], times[48]), (None, Some(16_200)));
    }

    #[test]
    fn the_start_of_the_record_is_judged_by_the_flow_alone() {
        let plant = plant_with(certified(6000, 16_200));
        let (times, verdicts) = judged(&constant(Decimal::whole(6480)), &plant);
        assert_eq!((times[10], verdicts[10]), (None, Held::Legal));
        let (_, verdicts) = judged(&constant(Decimal::whole(6481)), &plant);
        assert_eq!(verdicts[10], Held::Short);
    }
}
