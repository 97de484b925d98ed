//! Plays a script on the model and writes down both the record and the truth.

use crate::control::{HeatingControl, SET_POINT_MARGIN_F};
use crate::diversion::{
    Booster, CUT_OUT_MARGIN_F, Conditions, Diversion, is_too_fast, is_too_slow,
};
use crate::error::Error;
use crate::events::{DivertCause, Sight, Witness};
use crate::process::{Feed, Inputs, Process};
use crate::record::{Beside, COLUMNS, Cell, Readings, Row, Run, Sensors};
use crate::script::{Fault, FaultKind, Medium, Script, Step};
use crate::step::STEP_MILLISECONDS;
use crate::truth::{Harmless, Truth, TruthRule, Unsafe};
use plant::{LocalResolution, Plant, Tube};
use std::sync::Arc;
use trace::{Duration, FlowUnit, Instant, Interval, PressureUnit, Role, TemperatureUnit};

const STEP: Duration = Duration::from_milliseconds(STEP_MILLISECONDS);
const PRODUCTION_GPM: f64 = 50.0;
const CLEANING_GPM: f64 = 53.0;
/// What the solution of a cleaning loses on its way back, and how much colder a leak of water makes it, °F.
const RETURN_LOSS_F: f64 = 3.0;
const LEAK_F: f64 = 14.0;

/// Plays a script on a line of `plant`. The same script, plant and seed give the same run on
/// every machine.
///
/// # Errors
/// When the script's start does not exist, its sample interval is not a multiple of 100 ms, it
/// names an unknown product, or the plant has no tube.
pub fn simulate(script: &Script, plant: &Plant, seed: u64) -> Result<Run, Error> {
    let start = match plant.zone.resolve(script.start) {
        LocalResolution::One(start) | LocalResolution::Two(start, _) => start,
        LocalResolution::None => {
            return Err(Error::Start { start: script.start.to_string(), zone: plant.zone.name() });
        }
    };
    let interval = script.sample_interval.milliseconds();
    if interval <= 0 || interval % STEP_MILLISECONDS != 0 {
        return Err(Error::SampleInterval { milliseconds: interval });
    }
    let tube = plant.tube.as_ref().and_then(Tube::certificate).ok_or(Error::NoTube)?;
    let tube_gallons =
        tube.test_flow.in_unit(FlowUnit::GallonPerMinute) / 60.0 * tube.test_time.seconds();

    let mut steps: Vec<_> = script.steps.iter().collect();
    steps.sort_by_key(|(time, _)| *time);
    let mut steps = steps.into_iter().peekable();
    let mut line = Line::new(plant, tube_gallons, seed)?;
    let mut judge = Judge::new(&script.faults, script.sample_interval, plant);
    let mut witness = Witness::default();
    let hot = plant.cleaning.temperature;
    let hot_f = hot.map(|limit| limit.figure(TemperatureUnit::Fahrenheit).to_f64());
    let mut rows = Vec::new();
    let mut time = Duration::ZERO;
    while time <= script.duration {
        while let Some((_, step)) = steps.next_if(|(at, _)| *at <= time) {
            line.operate(step)?;
        }
        let faults = Faults { all: &script.faults, time };
        line.interlocks(faults);
        let instant = start + time;
        judge.look(&line, faults, instant);
        witness.look(&line.sight(instant), hot_f);
        if time.milliseconds() % interval == 0 {
            let readings = line.sensors.read(&line.process, faults.drift_f());
            if !faults.any(|kind| *kind == FaultKind::LoggerStopped) {
                let (cells, beside) = (line.cells(readings, faults), line.beside(readings));
                rows.push(Row { instant, cells, beside });
            }
        }
        line.advance(faults, script.fouling_per_hour);
        time = time + STEP;
    }
    let truth = Truth { events: witness.finish(), ..judge.finish(start) };
    Ok(Run { zone: plant.zone, rows, truth })
}

/// The faults at one time.
#[derive(Clone, Copy)]
struct Faults<'a> {
    all: &'a [Fault],
    time: Duration,
}

impl Faults<'_> {
    fn find<T>(self, wanted: impl Fn(&FaultKind) -> Option<T>) -> Option<T> {
        self.all
            .iter()
            .filter(|fault| fault.is_active(self.time))
            .find_map(|fault| wanted(&fault.kind))
    }

    fn any(self, wanted: impl Fn(&FaultKind) -> bool) -> bool {
        self.find(|kind| wanted(kind).then_some(())).is_some()
    }

    /// By how much the indicating thermometer reads too high.
    fn drift_f(self) -> f64 {
        let drift =
            self.all.iter().filter(|fault| fault.is_active(self.time)).find_map(
                |fault| match fault.kind {
                    FaultKind::ThermometerDrifts { tenths_per_hour } => Some(
                        f64::from(tenths_per_hour) / 10.0 * (self.time - fault.from).seconds()
                            / 3600.0,
                    ),
                    _ => None,
                },
            );
        drift.unwrap_or_default()
    }

    fn dropout(self, of: Role) -> Option<&'static str> {
        self.find(|kind| match kind {
            FaultKind::Dropout { role, text } if *role == of => Some(*text),
            _ => None,
        })
    }
}

/// What the audit will hold a product to.
#[derive(Debug, Clone, Copy)]
struct Demands {
    limit_f: f64,
    minimum_time_s: f64,
    factor: f64,
}

impl Demands {
    fn of(plant: &Plant, name: &str) -> Result<Self, Error> {
        let product =
            plant.products.find(name).ok_or_else(|| Error::Product { name: name.to_owned() })?;
        Ok(Self {
            limit_f: product.limit.figure(TemperatureUnit::Fahrenheit).to_f64(),
            minimum_time_s: product.minimum_time.seconds(),
            factor: product.factor.to_f64(),
        })
    }
}

const WATER: &str = "water";
const CLEANING: &str = "clean";

/// The line with its controls and the people who run it.
struct Line<'a> {
    plant: &'a Plant,
    process: Process,
    sensors: Sensors,
    heating: HeatingControl,
    diversion: Diversion,
    booster: Booster,
    running: bool,
    cleaning: bool,
    by_hand: bool,
    /// What sent the device to divert at this step.
    sent: Option<DivertCause>,
    feed: Feed,
    demands: Demands,
    heated_for: Demands,
    product: Arc<str>,
    lot: Arc<str>,
    mode: Arc<str>,
    hours_of_product: f64,
}

impl<'a> Line<'a> {
    fn new(plant: &'a Plant, tube_gallons: f64, seed: u64) -> Result<Self, Error> {
        let demands = Demands::of(plant, WATER)?;
        Ok(Self {
            plant,
            sensors: Sensors::new(seed),
            process: Process::new(tube_gallons, seed),
            heating: HeatingControl::new(seed),
            diversion: Diversion::default(),
            booster: Booster::default(),
            running: false,
            cleaning: false,
            by_hand: false,
            sent: None,
            feed: Feed::Water,
            demands,
            heated_for: demands,
            product: WATER.into(),
            lot: "".into(),
            mode: "water".into(),
            hours_of_product: 0.0,
        })
    }

    fn operate(&mut self, step: &Step) -> Result<(), Error> {
        match step {
            Step::Start => self.running = true,
            Step::Stop => self.running = false,
            Step::HeatFor { product } => self.heated_for = Demands::of(self.plant, product)?,
            Step::Product { name, lot } => {
                self.make(name, lot, "run")?;
                self.feed = Feed::Milk;
            }
            Step::Water => {
                self.make(WATER, "", "water")?;
                self.feed = Feed::Water;
                self.cleaning = false;
            }
            Step::Cleaning => self.cleaning = true,
            Step::DivertByHand => self.by_hand = true,
            Step::Automatic => self.by_hand = false,
        }
        Ok(())
    }

    fn make(&mut self, product: &str, lot: &str, mode: &str) -> Result<(), Error> {
        self.demands = Demands::of(self.plant, product)?;
        self.heated_for = self.demands;
        self.product = product.into();
        self.lot = lot.into();
        self.mode = mode.into();
        Ok(())
    }

    /// What device, booster and mode switch do at this time.
    fn interlocks(&mut self, faults: Faults<'_>) {
        // The cleaning mode is given only once the device is diverted.
        if self.cleaning && self.diversion.is_diverted() && &*self.mode != CLEANING {
            self.mode = CLEANING.into();
        }
        let process = &self.process;
        let unasked = faults.any(|kind| *kind == FaultKind::DivertsUnasked);
        let holding_f = process.holding_f + faults.drift_f();
        let was_sent_forward = self.diversion.is_sent_forward();
        self.diversion.step(Conditions {
            permitted: self.running && !self.cleaning && !self.by_hand && !unasked,
            holding_f,
            limit_f: self.demands.limit_f,
            differential_psi: process.differential_psi(),
            flow_gpm: process.flow_gpm,
            flow_alarm_works: !faults.any(|kind| *kind == FaultKind::FlowAlarmFailed),
            stuck_forward: faults.any(|kind| *kind == FaultKind::ValveStuckForward),
        });
        let cause = if self.cleaning {
            DivertCause::Cleaning
        } else if !self.running {
            DivertCause::Stopped
        } else if self.by_hand {
            DivertCause::Hand
        } else if holding_f < self.demands.limit_f + CUT_OUT_MARGIN_F {
            DivertCause::Temperature
        } else if unasked {
            DivertCause::Unasked
        } else {
            DivertCause::FlowAlarm
        };
        let is_sent = was_sent_forward && !self.diversion.is_sent_forward();
        self.sent = is_sent.then_some(cause);
        self.booster.step(
            self.running,
            self.diversion.is_forward(),
            process.raw_psi,
            process.pasteurized_psi,
            faults.any(|kind| *kind == FaultKind::BoosterInterlockBypassed),
        );
    }

    /// Lets the process run for one step.
    fn advance(&mut self, faults: Faults<'_>, fouling_per_hour: f64) {
        if self.feed == Feed::Milk && self.diversion.is_forward() {
            self.hours_of_product += STEP.seconds() / 3600.0;
        }
        let heating_water_pump =
            self.running && !faults.any(|kind| *kind == FaultKind::HeatingWaterLost);
        let steam_valve = self.heating.step(
            heating_water_pump,
            self.heated_for.limit_f + SET_POINT_MARGIN_F,
            self.process.heater_out_f + faults.drift_f(),
            self.process.heating_water_f,
        );
        let steam = !faults.any(|kind| *kind == FaultKind::SteamLost);
        let surge = faults.find(|kind| match kind {
            FaultKind::FlowSurge { gallons_per_minute }
            | FaultKind::PumpSlow { gallons_per_minute } => Some(f64::from(*gallons_per_minute)),
            _ => None,
        });
        let throttled = |wanted: Medium| {
            faults.find(|kind| match kind {
                FaultKind::MediumThrottled { medium, psi } if *medium == wanted => {
                    Some(f64::from(*psi))
                }
                _ => None,
            })
        };
        let leak = if faults.any(|kind| *kind == FaultKind::ReturnLeaks) { LEAK_F } else { 0.0 };
        let usual = if self.cleaning { CLEANING_GPM } else { PRODUCTION_GPM };
        self.process.step(Inputs {
            flow_target_gpm: if self.running { surge.unwrap_or(usual) } else { 0.0 },
            share_forward: self.diversion.share_forward(),
            feed: self.feed,
            steam_valve: if steam { steam_valve } else { 0.0 },
            heating_water_pump,
            booster: self.booster.runs(),
            back_pressure: !faults.any(|kind| *kind == FaultKind::BackPressureLost),
            media_psi: Medium::ALL.map(throttled),
            return_loss_f: self.cleaning.then_some(RETURN_LOSS_F + leak),
            conductance: 1.0 / (1.0 + fouling_per_hour * self.hours_of_product),
        });
    }

    fn cells(&self, readings: Readings, faults: Faults<'_>) -> [Cell; COLUMNS.len()] {
        let valve = if self.diversion.is_forward() {
            "FWD"
        } else if self.diversion.is_diverted() {
            "DIV"
        } else {
            "TRV"
        };
        let mut cells = [
            Cell::Word(valve.into()),
            Cell::Reading(readings.holding),
            Cell::Reading(readings.recorder),
            Cell::Reading(readings.raw_pressure),
            Cell::Reading(readings.pasteurized_pressure),
            Cell::Reading(readings.flow),
            Cell::Reading(readings.raw),
            Cell::Reading(readings.regenerated),
            Cell::Reading(readings.heating_water),
            Cell::Reading(readings.cooled),
            Cell::Word(self.product.clone()),
            Cell::Word(self.lot.clone()),
            Cell::Word(self.mode.clone()),
        ];
        for (cell, column) in cells.iter_mut().zip(COLUMNS) {
            if let Some(text) = faults.dropout(column.role) {
                *cell = Cell::Word(text.into());
            }
        }
        cells
    }

    fn beside(&self, readings: Readings) -> Beside {
        Beside {
            timing_pump: self.running,
            booster: self.booster.runs(),
            high_flow: is_too_fast(self.process.flow_gpm),
            low_flow: self.is_low_flow(),
            by_hand: self.by_hand,
            cleaning_return: readings.cleaning_return,
            media: readings.media,
        }
    }

    /// The low-flow alarm: of a pump that stands there is none.
    fn is_low_flow(&self) -> bool {
        self.running && is_too_slow(self.process.flow_gpm)
    }

    /// What there is to see of it at this step.
    fn sight(&self, now: Instant) -> Sight {
        let is_cleaning = &*self.mode == CLEANING;
        Sight {
            now,
            sent: self.sent,
            is_forward: self.diversion.is_forward(),
            share_forward: self.diversion.share_forward(),
            flow_gpm: self.process.flow_gpm,
            holding_f: self.process.holding_f,
            return_f: self.process.return_f,
            alarms: [is_too_fast(self.process.flow_gpm), self.is_low_flow()],
            media_above: self.process.media_psi.map(|psi| psi >= self.process.pasteurized_psi),
            cleaning: is_cleaning,
            product: self.feed == Feed::Milk && !is_cleaning && !self.diversion.is_diverted(),
        }
    }

    fn is_short_of_temperature(&self) -> bool {
        self.process.holding_f < self.demands.limit_f
    }
}

/// What was seen while a hole was there.
#[derive(Debug, Clone, Copy)]
struct Seen {
    /// Whether the device was diverted at the hole's start and at its end.
    diverted: (bool, bool),
    ever_forward: bool,
    ever_short: bool,
}

/// Collects the truth.
struct Judge<'a> {
    faults: &'a [Fault],
    sample_interval: Duration,
    seen: Vec<Option<Seen>>,
    differential_limit_psi: f64,
    /// Diverted at both ends, a longer hole hides a whole run (method, section 5).
    diverted_hole: Duration,
    open: [Option<Instant>; TruthRule::ALL.len()],
    /// When the flow was last not written.
    flow_unknown_until: Option<Instant>,
    found: Vec<Unsafe>,
}

impl<'a> Judge<'a> {
    fn new(faults: &'a [Fault], sample_interval: Duration, plant: &Plant) -> Self {
        Self {
            faults,
            sample_interval,
            seen: vec![None; faults.len()],
            differential_limit_psi: plant.limits.differential.figure(PressureUnit::Psi).to_f64(),
            diverted_hole: plant.limits.diverted_hole,
            open: [None; TruthRule::ALL.len()],
            flow_unknown_until: None,
            found: Vec::new(),
        }
    }

    fn look(&mut self, line: &Line<'_>, faults: Faults<'_>, now: Instant) {
        let forward = line.diversion.is_forward();
        let temperature = line.is_short_of_temperature();
        let differential = line.process.differential_psi() < self.differential_limit_psi;
        let residence_s = line.process.residence_s(line.demands.factor);
        let holding_time = residence_s < line.demands.minimum_time_s;
        let stopped = faults.any(|kind| *kind == FaultKind::LoggerStopped);
        if stopped || faults.dropout(Role::FlowRate).is_some() {
            self.flow_unknown_until = Some(now);
        }
        // A parcel is known only when the flow is, all the time that it was in the tube. The time
        // of a stopped logger itself is told as a whole at the end.
        let residence = Duration::from_milliseconds((residence_s * 1000.0) as i64);
        let unknown = !stopped
            && ([Role::HoldingTemperature, Role::RawPressure, Role::PasteurizedPressure]
                .into_iter()
                .any(|role| faults.dropout(role).is_some())
                || self.flow_unknown_until.is_some_and(|until| now.since(until) <= residence));
        for (rule, short) in
            TruthRule::ALL.into_iter().zip([temperature, differential, holding_time, unknown])
        {
            self.note(rule, forward && short, now);
        }
        for (fault, seen) in self.faults.iter().zip(&mut self.seen) {
            if fault.is_active(faults.time) {
                let diverted = line.diversion.is_diverted();
                let before = seen.unwrap_or(Seen {
                    diverted: (diverted, diverted),
                    ever_forward: false,
                    ever_short: false,
                });
                *seen = Some(Seen {
                    diverted: (before.diverted.0, diverted),
                    ever_forward: before.ever_forward || forward,
                    ever_short: before.ever_short || temperature || differential,
                });
            }
        }
    }

    /// From the last row before a stop of the logger to the first after it.
    fn hole(&self, stop: &Fault) -> Duration {
        let step = self.sample_interval.milliseconds();
        let (from, to) = (stop.from.milliseconds(), (stop.from + stop.lasts).milliseconds());
        let before = (from - 1).div_euclid(step) * step;
        let after = -(-to).div_euclid(step) * step;
        Duration::from_milliseconds(after - before)
    }

    fn note(&mut self, rule: TruthRule, broken: bool, now: Instant) {
        let open = &mut self.open[rule as usize];
        match (*open, broken) {
            (None, true) => *open = Some(now),
            (Some(since), false) => {
                *open = None;
                self.found.push(Unsafe { rule, interval: Interval::between(since, now) });
            }
            _ => {}
        }
    }

    fn finish(mut self, start: Instant) -> Truth {
        for rule in TruthRule::ALL {
            if let Some(since) = self.open[rule as usize] {
                self.found.push(Unsafe { rule, interval: Interval::at(since) });
            }
        }
        let mut truth = Truth { unsafe_flow: std::mem::take(&mut self.found), ..Truth::default() };
        for (fault, seen) in self.faults.iter().zip(&self.seen) {
            // A fault after the end of the day was never there.
            let Some(seen) = seen else { continue };
            let from = start + fault.from;
            let interval = Interval::between(from, from + fault.lasts);
            let (what, in_doubt) = match &fault.kind {
                // Long enough, and the device could go forward and divert again unseen.
                FaultKind::LoggerStopped => (
                    "logger",
                    seen.diverted != (true, true) || self.hole(fault) > self.diverted_hole,
                ),
                // Nobody can tell where the device stood; that matters where one of its
                // positions would not have been legal.
                FaultKind::Dropout { role: Role::Valve, .. } => {
                    (Role::Valve.key(), seen.ever_short)
                }
                FaultKind::Dropout { role, .. } => {
                    let judged = matches!(
                        role,
                        Role::HoldingTemperature
                            | Role::RawPressure
                            | Role::PasteurizedPressure
                            | Role::FlowRate
                    );
                    if judged && seen.ever_forward {
                        // Noted step by step.
                        continue;
                    }
                    (role.key(), false)
                }
                _ => continue,
            };
            if in_doubt {
                truth.unsafe_flow.push(Unsafe { rule: TruthRule::Unverifiable, interval });
            } else {
                truth.harmless.push(Harmless { what, interval });
            }
        }
        truth.unsafe_flow.sort_by_key(|one| (one.interval, one.rule));
        truth.harmless.sort_by_key(|one| one.interval);
        truth
    }
}
