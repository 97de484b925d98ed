//! The immutable, columnar run record of one pasteurizer.
//!
//! Contract: instants strictly increase; every channel has one reading for each instant; a
//! reading is valid or says why not; nothing is interpolated. The differential pressure is always
//! there as a channel of its own, exact to the last digit, whether the logger recorded it or the
//! two pressures.

use crate::channel::{Channel, ChannelView, Reading};
use crate::error::Error;
use crate::instant::{Duration, Instant, Interval};
use crate::median::Counted;
use crate::observation::SourcePosition;
use crate::operator_entry::OperatorEntries;
use crate::role::Role;
use crate::run_sheet::RunSheet;
use crate::source_file::SourceFile;
use crate::text::TextChannel;
use crate::units::{FlowUnit, PressureUnit, TemperatureUnit};
use crate::valve::ValveState;

/// Where the differential pressure comes from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Differential {
    /// From two pressures in one unit.
    Pair {
        /// Regenerator, raw side.
        raw: Channel<PressureUnit>,
        /// Regenerator, pasteurized side.
        pasteurized: Channel<PressureUnit>,
    },
    /// Recorded as a difference, pasteurized minus raw.
    Direct(Channel<PressureUnit>),
}

/// The parts of a [`RunRecord`], to be checked and put together by [`RunRecord::new`].
#[derive(Debug, Clone)]
pub struct RunRecordParts {
    /// The name of the pasteurizer.
    pub unit: String,
    /// The files it was read from.
    pub sources: Vec<SourceFile>,
    /// Strictly increasing.
    pub instants: Vec<Instant>,
    /// Position of the flow diversion device.
    pub valve: Vec<ValveState>,
    /// Indicating thermometer at the outlet of the holding tube.
    pub holding_temperature: Channel<TemperatureUnit>,
    /// The regenerator's pressures.
    pub differential: Differential,
    /// Recording thermometer.
    pub recorder_temperature: Option<Channel<TemperatureUnit>>,
    /// Flow meter before the heater.
    pub flow_rate: Option<Channel<FlowUnit>>,
    /// Raw milk that enters the regenerator.
    pub raw_temperature: Option<Channel<TemperatureUnit>>,
    /// Raw milk that leaves the regenerator.
    pub regenerated_temperature: Option<Channel<TemperatureUnit>>,
    /// Hot water to the heater.
    pub heating_water_temperature: Option<Channel<TemperatureUnit>>,
    /// Product that leaves the cooler.
    pub cooled_temperature: Option<Channel<TemperatureUnit>>,
    /// Cleaning solution that comes back from the line.
    pub cleaning_return_temperature: Option<Channel<TemperatureUnit>>,
    /// The pressure of the medium that heats the product.
    pub heating_medium_pressure: Option<Channel<PressureUnit>>,
    /// The pressure of the medium that cools the product.
    pub cooling_medium_pressure: Option<Channel<PressureUnit>>,
    /// Leak seen (`true`), not seen (`false`), not readable (`None`).
    pub leak_detect: Option<Vec<Option<bool>>>,
    /// The timing pump runs (`true`), stands (`false`), not readable (`None`).
    pub timing_pump: Option<Vec<Option<bool>>>,
    /// The booster pump runs (`true`), stands (`false`), not readable (`None`).
    pub booster_pump: Option<Vec<Option<bool>>>,
    /// The alarm of too high a flow: on, off, not readable.
    pub high_flow_alarm: Option<Vec<Option<bool>>>,
    /// The alarm of too low a flow, or of a lost signal: on, off, not readable.
    pub low_flow_alarm: Option<Vec<Option<bool>>>,
    /// Name of the product.
    pub product: Option<TextChannel>,
    /// Lot of the product.
    pub lot: Option<TextChannel>,
    /// Production, water or cleaning, in the logger's own words.
    pub mode: Option<TextChannel>,
    /// The position of the device's mode switch, in the logger's own words.
    pub mode_switch: Option<TextChannel>,
    /// Rows that were recorded and have no place in time.
    pub unplaced: Vec<Unplaced>,
    /// Where two passes of a clock that was set back, or two files that differ, claim one span.
    pub double_spans: Vec<Interval>,
}

/// One row that was recorded and has no place in time, as far as the audit asks about it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UnplacedRow {
    /// Position of the flow diversion device.
    pub valve: ValveState,
    /// The holding temperature, in the unit of the record's channel.
    pub temperature: Reading,
    /// Pasteurized minus raw, in the unit of the record's channel.
    pub differential: Reading,
    /// The product's name; blank where none is recorded.
    pub product: String,
    /// The lot; blank where none is recorded.
    pub lot: String,
}

/// Rows in a row of one file whose stamp is unreadable or does not exist (method, section 3).
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unplaced {
    /// From the nearest placed row before them in their file to the nearest after; at the border of
    /// the record where the file has none there. Both ends are instants of samples.
    pub interval: Interval,
    /// The first of them.
    pub position: SourcePosition,
    /// The rows, in the order of the file; at least one.
    pub rows: Vec<UnplacedRow>,
}

impl RunRecordParts {
    /// The channels that an audit needs, and none of the others; the files are added by who read
    /// some.
    pub fn needed(
        unit: impl Into<String>,
        instants: Vec<Instant>,
        valve: Vec<ValveState>,
        holding_temperature: Channel<TemperatureUnit>,
        differential: Differential,
    ) -> Self {
        Self {
            unit: unit.into(),
            sources: Vec::new(),
            instants,
            valve,
            holding_temperature,
            differential,
            recorder_temperature: None,
            flow_rate: None,
            raw_temperature: None,
            regenerated_temperature: None,
            heating_water_temperature: None,
            cooled_temperature: None,
            cleaning_return_temperature: None,
            heating_medium_pressure: None,
            cooling_medium_pressure: None,
            leak_detect: None,
            timing_pump: None,
            booster_pump: None,
            high_flow_alarm: None,
            low_flow_alarm: None,
            product: None,
            lot: None,
            mode: None,
            mode_switch: None,
            unplaced: Vec::new(),
            double_spans: Vec::new(),
        }
    }
}

/// The time-ordered trace of one pasteurizer for one production day.
#[derive(Debug, Clone)]
pub struct RunRecord {
    parts: RunRecordParts,
    /// Pasteurized minus raw where the logger recorded the pair.
    difference: Option<Channel<PressureUnit>>,
    sampling_interval: Duration,
    run_sheet: Option<RunSheet>,
    operator_entries: Option<OperatorEntries>,
}

impl RunRecord {
    /// Checks the parts and puts them together.
    ///
    /// # Errors
    /// When there is no sample, a channel has another length than the instants, or the instants
    /// do not strictly increase.
    pub fn new(parts: RunRecordParts) -> Result<Self, Error> {
        let instants = parts.instants.len();
        if instants == 0 {
            return Err(Error::NoSamples);
        }
        if let Some(before) = parts.instants.windows(2).position(|pair| pair[0] >= pair[1]) {
            return Err(Error::Order { sample: before + 1 });
        }
        let difference = match &parts.differential {
            Differential::Pair { raw, pasteurized } => Some(Channel::difference(pasteurized, raw)),
            Differential::Direct(_) => None,
        };
        let sampling_interval = median_step(&parts.instants);
        let record =
            Self { parts, difference, sampling_interval, run_sheet: None, operator_entries: None };
        for (channel, samples) in record.lengths() {
            if samples != instants {
                return Err(Error::Length { channel, samples, instants });
            }
        }
        Ok(record)
    }

    /// The record with the sheet that the operators kept. Where the logger recorded no product or
    /// no lot, or never a word of it, the sheet's words take their place; what no run or more than
    /// one claims stays blank. A column that is blank all day says no more than none: were it kept,
    /// what the sheet does not cover would not be held to be unknown.
    #[must_use]
    pub fn with_run_sheet(mut self, sheet: RunSheet) -> Self {
        let says_something =
            |column: &mut TextChannel| column.words().iter().any(|one| !one.is_empty());
        self.parts.product = self.parts.product.take_if(says_something);
        self.parts.lot = self.parts.lot.take_if(says_something);
        if self.parts.product.is_none() || self.parts.lot.is_none() {
            let (products, lots) = sheet.words(&self.parts.instants);
            self.parts.product.get_or_insert(products);
            self.parts.lot.get_or_insert(lots);
        }
        self.run_sheet = Some(sheet);
        self
    }

    /// The record with what the operator wrote down.
    #[must_use]
    pub fn with_operator_entries(mut self, entries: OperatorEntries) -> Self {
        self.operator_entries = Some(entries);
        self
    }

    /// What the operator wrote down.
    pub const fn operator_entries(&self) -> Option<&OperatorEntries> {
        self.operator_entries.as_ref()
    }

    /// The sheet that the operators kept.
    pub const fn run_sheet(&self) -> Option<&RunSheet> {
        self.run_sheet.as_ref()
    }

    fn lengths(&self) -> Vec<(&'static str, usize)> {
        let parts = &self.parts;
        let mut lengths = vec![("valve", parts.valve.len())];
        lengths.extend(
            self.channels().iter().map(|(role, channel)| (role.key(), channel.mantissas().len())),
        );
        for role in Role::SWITCHES {
            lengths.extend(self.switch(role).map(|states| (role.key(), states.len())));
        }
        for role in Role::TEXTS {
            lengths.extend(self.text(role).map(|text| (role.key(), text.len())));
        }
        lengths
    }

    /// The name of the pasteurizer.
    #[inline]
    pub fn unit(&self) -> &str {
        &self.parts.unit
    }

    /// The files it was read from.
    pub fn sources(&self) -> &[SourceFile] {
        &self.parts.sources
    }

    /// The number of samples, at least 1.
    #[inline]
    pub fn samples(&self) -> usize {
        self.parts.instants.len()
    }

    /// The instants, strictly increasing.
    #[inline]
    pub fn instants(&self) -> &[Instant] {
        &self.parts.instants
    }

    /// From the first sample to the last.
    pub fn interval(&self) -> Interval {
        let instants = &self.parts.instants;
        match (instants.first(), instants.last()) {
            (Some(&first), Some(&last)) => Interval::between(first, last),
            // A record has at least one sample.
            _ => Interval::at(Instant::default()),
        }
    }

    /// The median step between two samples; for an even number of steps the lower of the two in
    /// the middle, which gives the stricter gap limit. Zero for a record of one sample.
    pub const fn sampling_interval(&self) -> Duration {
        self.sampling_interval
    }

    /// The last sample that is not after `instant`.
    pub fn sample_at(&self, instant: Instant) -> Option<usize> {
        self.parts.instants.partition_point(|&other| other <= instant).checked_sub(1)
    }

    /// The sample nearest to `instant`, the earlier of two equally near.
    pub fn nearest_sample(&self, instant: Instant) -> usize {
        let instants = &self.parts.instants;
        let after = instants.partition_point(|&other| other < instant).min(instants.len() - 1);
        match after.checked_sub(1) {
            Some(before) if instant.since(instants[before]) <= instants[after].since(instant) => {
                before
            }
            _ => after,
        }
    }

    /// The positions of the flow diversion device.
    #[inline]
    pub fn valve(&self) -> &[ValveState] {
        &self.parts.valve
    }

    /// The indicating thermometer at the outlet of the holding tube.
    #[inline]
    pub fn holding_temperature(&self) -> &Channel<TemperatureUnit> {
        &self.parts.holding_temperature
    }

    /// Pasteurized minus raw, recorded or worked out.
    #[inline]
    pub fn differential(&self) -> &Channel<PressureUnit> {
        match (&self.parts.differential, &self.difference) {
            (_, Some(difference)) => difference,
            (Differential::Direct(direct), None) => direct,
            (Differential::Pair { pasteurized, .. }, None) => pasteurized,
        }
    }

    /// The two pressures (raw, pasteurized), where the logger recorded them.
    pub const fn pressures(&self) -> Option<(&Channel<PressureUnit>, &Channel<PressureUnit>)> {
        match &self.parts.differential {
            Differential::Pair { raw, pasteurized } => Some((raw, pasteurized)),
            Differential::Direct(_) => None,
        }
    }

    /// The recording thermometer.
    #[inline]
    pub const fn recorder_temperature(&self) -> Option<&Channel<TemperatureUnit>> {
        self.parts.recorder_temperature.as_ref()
    }

    /// The flow meter.
    #[inline]
    pub const fn flow_rate(&self) -> Option<&Channel<FlowUnit>> {
        self.parts.flow_rate.as_ref()
    }

    /// Leak seen, not seen, or not readable.
    pub fn leak_detect(&self) -> Option<&[Option<bool>]> {
        self.parts.leak_detect.as_deref()
    }

    /// Whether the timing pump runs, or is not readable.
    pub fn timing_pump(&self) -> Option<&[Option<bool>]> {
        self.parts.timing_pump.as_deref()
    }

    /// Rows that were recorded and have no place in time, in order of their intervals.
    pub fn unplaced(&self) -> &[Unplaced] {
        &self.parts.unplaced
    }

    /// Spans that two passes of a clock, or two files that differ, claim; in order, apart.
    pub fn double_spans(&self) -> &[Interval] {
        &self.parts.double_spans
    }

    /// The states of a role that is on or off: on, off, or not readable.
    pub fn switch(&self, role: Role) -> Option<&[Option<bool>]> {
        let parts = &self.parts;
        match role {
            Role::LeakDetect => parts.leak_detect.as_deref(),
            Role::TimingPump => parts.timing_pump.as_deref(),
            Role::BoosterPump => parts.booster_pump.as_deref(),
            Role::HighFlowAlarm => parts.high_flow_alarm.as_deref(),
            Role::LowFlowAlarm => parts.low_flow_alarm.as_deref(),
            _ => None,
        }
    }

    /// The words of a role that holds some.
    pub const fn text(&self, role: Role) -> Option<&TextChannel> {
        let parts = &self.parts;
        match role {
            Role::Product => parts.product.as_ref(),
            Role::Lot => parts.lot.as_ref(),
            Role::Mode => parts.mode.as_ref(),
            Role::ModeSwitch => parts.mode_switch.as_ref(),
            _ => None,
        }
    }

    /// The product names.
    #[inline]
    pub const fn product(&self) -> Option<&TextChannel> {
        self.parts.product.as_ref()
    }

    /// Cleaning solution that comes back from the line.
    #[inline]
    pub const fn cleaning_return_temperature(&self) -> Option<&Channel<TemperatureUnit>> {
        self.parts.cleaning_return_temperature.as_ref()
    }

    /// The lots.
    #[inline]
    pub const fn lot(&self) -> Option<&TextChannel> {
        self.parts.lot.as_ref()
    }

    /// The modes, in the logger's own words.
    #[inline]
    pub const fn mode(&self) -> Option<&TextChannel> {
        self.parts.mode.as_ref()
    }

    /// The channel that plays `role`; the differential is there even when it was worked out.
    pub fn channel(&self, role: Role) -> Option<ChannelView<'_>> {
        let parts = &self.parts;
        match role {
            Role::HoldingTemperature => Some(ChannelView::Temperature(&parts.holding_temperature)),
            Role::DifferentialPressure => Some(ChannelView::Pressure(self.differential())),
            Role::RawPressure => self.pressures().map(|pair| ChannelView::Pressure(pair.0)),
            Role::PasteurizedPressure => self.pressures().map(|pair| ChannelView::Pressure(pair.1)),
            Role::RecorderTemperature => {
                parts.recorder_temperature.as_ref().map(ChannelView::Temperature)
            }
            Role::FlowRate => parts.flow_rate.as_ref().map(ChannelView::Flow),
            Role::RawTemperature => parts.raw_temperature.as_ref().map(ChannelView::Temperature),
            Role::RegeneratedTemperature => {
                parts.regenerated_temperature.as_ref().map(ChannelView::Temperature)
            }
            Role::HeatingWaterTemperature => {
                parts.heating_water_temperature.as_ref().map(ChannelView::Temperature)
            }
            Role::CooledTemperature => {
                parts.cooled_temperature.as_ref().map(ChannelView::Temperature)
            }
            Role::CleaningReturnTemperature => {
                parts.cleaning_return_temperature.as_ref().map(ChannelView::Temperature)
            }
            Role::HeatingMediumPressure => {
                parts.heating_medium_pressure.as_ref().map(ChannelView::Pressure)
            }
            Role::CoolingMediumPressure => {
                parts.cooling_medium_pressure.as_ref().map(ChannelView::Pressure)
            }
            Role::Valve
            | Role::ValveForward
            | Role::ValveDivert
            | Role::LeakDetect
            | Role::TimingPump
            | Role::BoosterPump
            | Role::HighFlowAlarm
            | Role::LowFlowAlarm
            | Role::Product
            | Role::Lot
            | Role::Mode
            | Role::ModeSwitch => None,
        }
    }

    /// All numeric channels with their roles, in the order of the method.
    pub fn channels(&self) -> Vec<(Role, ChannelView<'_>)> {
        Role::ALL
            .into_iter()
            .filter_map(|role| self.channel(role).map(|channel| (role, channel)))
            .collect()
    }
}

fn median_step(instants: &[Instant]) -> Duration {
    let mut steps = Counted::default();
    for pair in instants.windows(2) {
        steps.add(pair[1].since(pair[0]).milliseconds());
    }
    Duration::from_milliseconds(steps.least_lower_greatest().map_or(0, |[_, middle, _]| middle))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::decimal::{Decimal, Toward};

    fn parts(stamps: &[i64]) -> RunRecordParts {
        let range = (Decimal::whole(-100), Decimal::whole(1000));
        let mut temperature = Channel::new(TemperatureUnit::Celsius, range, Toward::Down);
        let mut direct = Channel::new(PressureUnit::Kilopascal, range, Toward::Down);
        for _ in stamps {
            temperature.push(Reading::Valid(Decimal::whole(73)));
            direct.push(Reading::Valid(Decimal::whole(20)));
        }
        RunRecordParts::needed(
            "unit",
            stamps.iter().copied().map(Instant::from_unix_milliseconds).collect(),
            vec![ValveState::Forward; stamps.len()],
            temperature,
            Differential::Direct(direct),
        )
    }

    #[test]
    fn parts_are_checked() {
        assert_eq!(RunRecord::new(parts(&[])).err(), Some(Error::NoSamples));
        assert_eq!(RunRecord::new(parts(&[0, 5, 5])).err(), Some(Error::Order { sample: 2 }));
        let mut short = parts(&[0, 1]);
        short.valve.pop();
        assert_eq!(
            RunRecord::new(short).err(),
            Some(Error::Length { channel: "valve", samples: 1, instants: 2 })
        );
    }

    #[test]
    fn the_sampling_interval_is_the_lower_median() {
        for (stamps, median) in
            [(vec![0], 0), (vec![0, 10], 10), (vec![0, 10, 30], 10), (vec![0, 10, 30, 60], 20)]
        {
            let record = RunRecord::new(parts(&stamps));
            let interval = record.map(|record| record.sampling_interval().milliseconds());
            assert_eq!(interval, Ok(median), "{stamps:?}");
        }
    }

    #[test]
    fn samples_are_found_by_instant() {
        let Ok(record) = RunRecord::new(parts(&[100, 200, 300])) else { panic!("valid parts") };
        let at = Instant::from_unix_milliseconds;
        for (instant, last, nearest) in [
            (50, None, 0),
            (100, Some(0), 0),
            (149, Some(0), 0),
            (150, Some(0), 0),
            (151, Some(0), 1),
            (299, Some(1), 2),
            (900, Some(2), 2),
        ] {
            assert_eq!(record.sample_at(at(instant)), last, "{instant}");
            assert_eq!(record.nearest_sample(at(instant)), nearest, "{instant}");
        }
    }

    /// A column that is blank all day gives way to the sheet, one with a single word does not.
    #[test]
    fn a_run_sheet_takes_the_place_of_blank_columns() {
        let column = |words: [&str; 2]| {
            let mut column = TextChannel::new();
            for word in words {
                column.push(word);
            }
            Some(column)
        };
        let sheet = || {
            let run = crate::SheetRun {
                interval: Interval::between(
                    Instant::from_unix_milliseconds(0),
                    Instant::from_unix_milliseconds(5),
                ),
                product: "cream".to_owned(),
                lot: "A1".to_owned(),
                tank: String::new(),
                quantity: None,
                emptied: None,
                line: 1,
            };
            let source = SourceFile { name: "sheet".into(), bytes: 0, rows: 1, sha256: [0; 32] };
            RunSheet::new(source, vec![run])
        };
        let words = |product, lot| {
            let mut parts = parts(&[0, 10]);
            (parts.product, parts.lot) = (column(product), column(lot));
            let record = RunRecord::new(parts).map(|record| record.with_run_sheet(sheet()));
            let Ok(record) = record else { panic!("these parts fit together") };
            [record.product(), record.lot()].map(|column| {
                [0, 1].map(|one| column.map_or("", |words| words.word(one)).to_owned())
            })
        };
        assert_eq!(words(["", " "], ["", ""]), [["cream", ""], ["A1", ""]]);
        assert_eq!(words(["", "milk"], ["", ""]), [["", "milk"], ["A1", ""]]);
        assert_eq!(words(["", ""], ["B2", ""]), [["cream", ""], ["B2", ""]]);
    }
}
