//! What the meter saw in forward flow against what the run sheet states: for each of its runs, and for
//! each lot and tank (method, section 8, "amounts").
//!
//! A volume that is not metered throughout is no figure to compare with; why it is not is told.

use crate::context::Context;
use crate::crossing::on_line;
use std::collections::BTreeMap;
use trace::{Decimal, Interval, SheetRun, ValveState, VolumeUnit};

/// What the run sheet states and the meter saw.
#[derive(Debug, Clone, PartialEq)]
pub struct Amounts {
    /// Each run of the sheet, in order.
    pub runs: Vec<RunAmount>,
    /// Each lot that the sheet names, by its name.
    pub lots: Vec<SumAmount>,
    /// Each tank that the sheet names, by its name.
    pub tanks: Vec<SumAmount>,
}

/// A run of the sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct RunAmount {
    /// From its start to its end, as written.
    pub interval: Interval,
    /// The product.
    pub product: String,
    /// The lot; blank where none is written.
    pub lot: String,
    /// The tank; blank where none is written.
    pub tank: String,
    /// What went forward in that time, in the meter's unit; or why that is not known.
    pub metered: Result<f64, NotMetered>,
    /// The meter's unit.
    pub unit: VolumeUnit,
    /// The quantity as written.
    pub stated: Option<(Decimal, VolumeUnit)>,
    /// The line of the sheet.
    pub line: u64,
}

/// All runs of the sheet with one lot or one tank.
#[derive(Debug, Clone, PartialEq)]
pub struct SumAmount {
    /// The lot or the tank.
    pub name: String,
    /// How many runs.
    pub runs: usize,
    /// What went forward in all of them; `None` where that is not known of one of them.
    pub metered: Option<f64>,
    /// What is written of all of them; `None` where it is not of one of them.
    pub stated: Option<f64>,
    /// The unit of both.
    pub unit: VolumeUnit,
}

/// Why it is not known how much went forward in a run.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum NotMetered {
    /// The flow is not recorded.
    NoMeter,
    /// A part of the run lies outside the record.
    OutsideRecord,
    /// Another run of the sheet claims a part of its time.
    Overlap,
    /// A part of it was not recorded, or the clock passed it twice.
    Gap,
    /// The position of the device is not known for a part of it.
    Position,
    /// The flow can't be reckoned with for a part of it.
    Flow,
}

impl NotMetered {
    /// The key in JSON.
    pub const fn key(self) -> &'static str {
        match self {
            Self::NoMeter => "no_meter",
            Self::OutsideRecord => "outside_record",
            Self::Overlap => "overlap",
            Self::Gap => "gap",
            Self::Position => "position_unknown",
            Self::Flow => "flow_unusable",
        }
    }

    /// Why, in words.
    pub const fn name(self) -> &'static str {
        match self {
            Self::NoMeter => "the flow is not recorded",
            Self::OutsideRecord => "a part of it lies outside the record",
            Self::Overlap => "another run of the sheet claims a part of it",
            Self::Gap => "a part of it was not recorded",
            Self::Position => "the position of the FDD is not known for a part of it",
            Self::Flow => "the flow is not known for a part of it",
        }
    }
}

/// By how much a metered amount differs from the stated one, of which the unit is `unit`, in percent of
/// the stated one.
fn percent_apart(metered: (f64, VolumeUnit), stated: (f64, VolumeUnit)) -> f64 {
    let metered = metered.1.convert(metered.0, stated.1);
    (metered - stated.0).abs() * 100.0 / stated.0
}

impl RunAmount {
    /// By how many percent of the stated amount the metered one differs; `None` where one of them is
    /// not known.
    pub fn percent_apart(&self) -> Option<f64> {
        let (stated, unit) = self.stated?;
        Some(percent_apart((self.metered.ok()?, self.unit), (stated.to_f64(), unit)))
    }

    /// Whether they differ by more than so many percent.
    pub fn is_beyond(&self, tolerance: Decimal) -> bool {
        self.percent_apart().is_some_and(|apart| apart > tolerance.to_f64())
    }
}

impl SumAmount {
    /// As [`RunAmount::percent_apart`].
    pub fn percent_apart(&self) -> Option<f64> {
        Some(percent_apart((self.metered?, self.unit), (self.stated?, self.unit)))
    }
}

/// All that the run sheet states; nothing without one.
pub(crate) fn amounts(context: &Context<'_>) -> Amounts {
    let record = context.record;
    let unit = crate::volume::unit(record, context.plant);
    let sheet = record.run_sheet().map_or(&[][..], trace::RunSheet::runs);
    let run = |run: &SheetRun| RunAmount {
        interval: run.interval,
        product: run.product.clone(),
        lot: run.lot.clone(),
        tank: run.tank.clone(),
        metered: metered(context, run),
        unit,
        stated: run.quantity,
        line: run.line,
    };
    let runs: Vec<RunAmount> = sheet.iter().map(run).collect();
    Amounts { lots: sums(&runs, |run| &run.lot), tanks: sums(&runs, |run| &run.tank), runs }
}

/// The runs with one name added up, for each name that is not blank.
fn sums(runs: &[RunAmount], name: impl Fn(&RunAmount) -> &str) -> Vec<SumAmount> {
    let mut sums: BTreeMap<&str, SumAmount> = BTreeMap::new();
    for run in runs.iter().filter(|run| !name(run).is_empty()) {
        let sum = sums.entry(name(run)).or_insert_with(|| SumAmount {
            name: name(run).to_owned(),
            runs: 0,
            metered: Some(0.0),
            stated: Some(0.0),
            unit: run.unit,
        });
        let stated = run.stated.map(|(value, unit)| unit.convert(value.to_f64(), run.unit));
        sum.runs += 1;
        sum.metered = sum.metered.zip(run.metered.ok()).map(|(sum, one)| sum + one);
        sum.stated = sum.stated.zip(stated).map(|(sum, one)| sum + one);
    }
    sums.into_values().collect()
}

/// What went forward in a run: the trapezoid of the flow over the forward part of each step.
fn metered(context: &Context<'_>, run: &SheetRun) -> Result<f64, NotMetered> {
    let record = context.record;
    let verdicts = context.verdicts;
    let instants = record.instants();
    let flow = record.flow_rate().ok_or(NotMetered::NoMeter)?;
    let (from, to) = (run.interval.start(), run.interval.end());
    // A record that is cut at midnight ends a sample before.
    let step = context.plant.limits.gap_limit(record.sampling_interval());
    if from + step < record.interval().start() || record.interval().end() + step < to {
        return Err(NotMetered::OutsideRecord);
    }
    let overlaps =
        |other: &SheetRun| other.line != run.line && other.interval.overlaps(run.interval);
    let mut others = record.run_sheet().into_iter().flat_map(|all| all.runs_touching(run.interval));
    if others.any(overlaps) {
        return Err(NotMetered::Overlap);
    }
    if record.double_spans().iter().any(|span| span.overlaps(run.interval)) {
        return Err(NotMetered::Gap);
    }
    let mut sum = 0.0;
    let first = record.sample_at(from).unwrap_or(0);
    for step in (first..instants.len() - 1).take_while(|&step| instants[step] < to) {
        let (start, end) = (instants[step], instants[step + 1]);
        if verdicts.gap_after(step) {
            return Err(NotMetered::Gap);
        }
        let positions = [step, step + 1].map(|sample| verdicts.valve(sample));
        if positions.contains(&ValveState::Unknown) {
            return Err(NotMetered::Position);
        }
        // Between two positions the step is split at its midpoint.
        let middle = start.midpoint(end);
        let forward = match positions.map(|position| position == ValveState::Forward) {
            [true, true] => (start, end),
            [true, false] => (start, middle),
            [false, true] => (middle, end),
            [false, false] => continue,
        };
        let (begin, finish) = (forward.0.max(from), forward.1.min(to));
        if finish <= begin {
            continue;
        }
        if !(verdicts.is_flow_usable(step) && verdicts.is_flow_usable(step + 1)) {
            return Err(NotMetered::Flow);
        }
        let value = |sample: usize| flow.value(sample).map(|value| value.max(0.0));
        let (one, other) = value(step).zip(value(step + 1)).ok_or(NotMetered::Flow)?;
        let mean = f64::midpoint(
            on_line(start, end, one, other, begin),
            on_line(start, end, one, other, finish),
        );
        sum += mean * finish.since(begin).milliseconds() as f64;
    }
    Ok(sum * flow.unit().volume_per_millisecond())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::specimen::{Specimen, day, span};
    use proptest::prelude::*;

    fn runs(specimen: Specimen) -> Vec<RunAmount> {
        specimen.audit().amounts.runs
    }

    fn metered_in(specimen: Specimen) -> Result<String, NotMetered> {
        match runs(specimen).as_slice() {
            [one] => one.metered.map(|volume| format!("{volume:.3}")),
            others => panic!("{others:#?}"),
        }
    }

    /// Thirty gallons a minute are half a gallon a second.
    #[test]
    fn the_forward_part_of_each_step_counts() {
        let day = |valve: &str| day(valve).flow("30").run((0, 10_000), "milk", "", "");
        assert_eq!(metered_in(day("F*11")).as_deref(), Ok("5.000"));
        assert_eq!(metered_in(day("F*5 D*6")).as_deref(), Ok("2.250"));
        assert_eq!(metered_in(day("D*2 V F*2 V D*5")).as_deref(), Ok("1.000"));
        assert_eq!(metered_in(day("D*11")).as_deref(), Ok("0.000"));
    }

    #[test]
    fn a_run_may_begin_and_end_between_two_samples() {
        let day = day("F*11").flow("0 60*9 0").tube(20, 16_000).set(|plant| {
            plant.limits.low_flow = None;
            plant.tube = None;
        });
        // A line from 0 to 60: half of it from half a second on is 45 on the average.
        assert_eq!(metered_in(day.run((500, 2500), "milk", "", "")).as_deref(), Ok("1.875"));
    }

    #[test]
    fn a_volume_that_is_not_metered_throughout_is_no_figure() {
        use NotMetered::{Flow, Gap, NoMeter, OutsideRecord, Overlap, Position};
        let run = |specimen: Specimen| specimen.run((2000, 8000), "milk", "", "");
        let of = |specimen: Specimen| runs(run(specimen)).pop().map(|one| one.metered);
        let flow = || day("F*11").flow("30");
        assert!(matches!(of(flow()), Some(Ok(_))));
        for (why, specimen, expected) in [
            ("no meter", day("F*11"), NoMeter),
            ("blank", day("F*11").flow("30*4 _ 30"), Flow),
            ("low", day("F*11").tube(30, 16_000).flow("30*4 2.9 30"), Flow),
            ("gap", flow().step(4, 60_000), Gap),
            ("clock", flow().double(span(3000, 4000)), Gap),
            ("position", day("F*4 U F*6").flow("30"), Position),
            ("overlap", flow().run((7000, 9000), "cream", "", ""), Overlap),
            ("end", day("F*5").flow("30"), OutsideRecord),
        ] {
            let found = run(specimen);
            let found = found.audit().amounts.runs;
            assert!(found.iter().any(|one| one.metered == Err(expected)), "{why}: {found:?}");
        }
        // Three seconds are no gap.
        assert!(matches!(of(day("F*6").flow("30")), Some(Ok(_))));
        // Diverted, or outside the run, a missing reading changes nothing.
        assert!(matches!(of(day("F*3 D*3 F*5").flow("30*4 _ 30")), Some(Ok(_))));
        assert!(matches!(of(day("F*11").flow("_ 30*9 _")), Some(Ok(_))));
    }

    #[test]
    fn lots_and_tanks_are_added_up() {
        let found = day("F*31")
            .flow("30")
            .run((0, 10_000), "milk", "A", "T1")
            .stated("5")
            .run((10_000, 20_000), "milk", "B", "T1")
            .stated("5.1")
            .run((20_000, 40_000), "milk", "B", "T2")
            .stated("10")
            .audit()
            .amounts;
        let told = |sums: &[SumAmount]| {
            let one = |sum: &SumAmount| {
                let volume = |value: Option<f64>| value.map(|value| (value * 10.0).round());
                (sum.name.clone(), sum.runs, volume(sum.metered), volume(sum.stated))
            };
            sums.iter().map(one).collect::<Vec<_>>()
        };
        let name = str::to_owned;
        assert_eq!(
            told(&found.lots),
            [(name("A"), 1, Some(50.0), Some(50.0)), (name("B"), 2, None, Some(151.0))]
        );
        assert_eq!(
            told(&found.tanks),
            [(name("T1"), 2, Some(100.0), Some(101.0)), (name("T2"), 1, None, Some(100.0))]
        );
    }

    #[test]
    fn a_stated_amount_may_be_in_another_unit() {
        let mut one = runs(day("F*11").flow("30").run((0, 10_000), "milk", "", "").stated("5"));
        let Some(one) = one.first_mut() else { panic!("no run") };
        assert_eq!(one.percent_apart(), Some(0.0));
        // 5 gal are 18.93 L.
        one.stated = Some((Decimal::whole(19), VolumeUnit::Litre));
        let apart = one.percent_apart().map(|apart| (apart * 100.0).round());
        assert_eq!(apart, Some(38.0));
        assert!(one.is_beyond(Decimal::new(3, 1)) && !one.is_beyond(Decimal::new(4, 1)));
    }

    proptest! {
        /// Two runs that meet hold together what one over both holds.
        #[test]
        fn runs_that_meet_add_up(
            valve in proptest::collection::vec(0..3_usize, 12),
            flow in proptest::collection::vec(0..99_i64, 12),
            at in 1..11_000_i64,
        ) {
            let valve: Vec<_> = valve.iter().map(|&one| ["F", "D", "V"][one]).collect();
            let flow: Vec<_> = flow.iter().map(ToString::to_string).collect();
            let day = || day(&valve.join(" ")).flow(&flow.join(" "));
            let of = |specimen: Specimen| runs(specimen).iter().map(|one| one.metered.unwrap_or(f64::NAN)).sum::<f64>();
            let whole = of(day().run((0, 11_000), "milk", "", ""));
            let parts = of(day().run((0, at), "milk", "", "").run((at, 11_000), "milk", "", ""));
            prop_assert!((whole - parts).abs() < 1e-9, "{} {}", whole, parts);
        }
    }
}
