//! The line itself: an energy and a pressure balance of the plates, the tube and the pumps.
//!
//! Everything is reckoned in °F, psi and US gallons a minute; milk and water hold the same heat a
//! gallon. Balanced counterflow plates have the effectiveness NTU / (1 + NTU), exact for equal
//! flows. Transport and mixing are first-order lags, but for the holding tube, which is plug flow
//! by volume. The figures are invented for a line of 50 gal/min, chosen so that the traces look
//! like those of such a line (common practice: about 90 % regeneration, hot water a few degrees
//! above the product, booster pressure well below that of the pasteurized side).

use crate::diversion::BOOSTER_MAXIMUM_PSI;
use crate::noise::{Noise, Wander};
use crate::step::STEP_S;
use std::collections::VecDeque;

const NOMINAL_GPM: f64 = 50.0;
const AMBIENT_F: f64 = 70.0;
/// Start-up water comes from the ice-water tank.
const WATER_F: f64 = 36.0;
const MILK_F: f64 = 37.4;
const CHILLED_WATER_F: f64 = 34.2;
const TANK_GALLONS: f64 = 50.0;
const HEATING_WATER_GALLONS: f64 = 30.0;
/// Heat of the fully open steam valve, in gallons a minute times °F.
const STEAM: f64 = 3000.0;
const REGENERATOR_NTU: f64 = 9.0;
const HEATER_NTU: f64 = 3.0;
/// How fast milk in the tube loses heat: 0.25 °F on the way at 163 °F.
const TUBE_LOSS_PER_S: f64 = 1.63e-4;
/// Head of the constant-level tank, psi.
const RAW_STATIC_PSI: f64 = 0.5;
/// Head of the vacuum breaker, eight feet above the regenerator, psi.
const PASTEURIZED_STATIC_PSI: f64 = 3.6;
/// What the timing pump draws through the raw side at nominal flow, psi.
const SUCTION_PSI: f64 = 3.2;
const BACK_PRESSURE_PSI: f64 = 15.5;
const LOST_BACK_PRESSURE_PSI: f64 = 4.0;
/// Both media come back without pressure into open tanks, below the head of the vacuum breaker, psi.
const MEDIUM_PSI: f64 = 1.6;
/// What the cooler and the line behind it take at nominal flow, psi.
const COOLER_DROP_PSI: f64 = 6.0;

/// What is fed to the constant-level tank.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Feed {
    Water,
    Milk,
}

/// What the controls and the faults set for one step.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Inputs {
    /// 0 with the timing pump off.
    pub flow_target_gpm: f64,
    pub share_forward: f64,
    pub feed: Feed,
    /// Opening of the steam valve, 0 to 1; 0 without steam.
    pub steam_valve: f64,
    pub heating_water_pump: bool,
    pub booster: bool,
    pub back_pressure: bool,
    /// What heating and cooling medium are throttled to, psi; `None` where they come back freely.
    pub media_psi: [Option<f64>; 2],
    /// How much colder the cleaning solution comes back than it left the tube, °F; `None` without a cleaning.
    pub return_loss_f: Option<f64>,
    /// Heat transfer of the plates relative to clean ones.
    pub conductance: f64,
}

/// Milk that entered the holding tube.
#[derive(Debug, Clone, Copy)]
struct Parcel {
    /// What the pump had moved when it entered, gallons.
    moved: f64,
    at_s: f64,
    temperature_f: f64,
}

/// The state of the line.
#[derive(Debug, Clone)]
pub(crate) struct Process {
    time_s: f64,
    tube_gallons: f64,
    moved: f64,
    tube: VecDeque<Parcel>,
    pump_gpm: f64,
    pub flow_gpm: f64,
    feed_f: f64,
    tank_f: f64,
    pub raw_f: f64,
    /// What the pasteurized side of the regenerator has at its hot end.
    hot_side_f: f64,
    pub regenerated_f: f64,
    heater_in_f: f64,
    pub heater_out_f: f64,
    pub heating_water_f: f64,
    heating_water_flow: f64,
    steam_flow: f64,
    mixed_f: f64,
    pub holding_f: f64,
    pasteurized_out_f: f64,
    pub cooled_f: f64,
    /// Cleaning solution at the end of the loop.
    pub return_f: f64,
    booster_speed: f64,
    back_pressure_psi: f64,
    pub raw_psi: f64,
    pub pasteurized_psi: f64,
    /// Of the heating and of the cooling medium.
    pub media_psi: [f64; 2],
    wanders: Wanders,
}

/// What moves by itself.
#[derive(Debug, Clone)]
struct Wanders {
    flow: Wander,
    milk: Wander,
    steam: Wander,
    chilled_water: Wander,
    back_pressure: Wander,
    booster: Wander,
}

/// Moves `value` towards `target` with a first-order lag.
fn lag(value: &mut f64, target: f64, time_constant_s: f64) {
    *value += (target - *value) * (STEP_S / time_constant_s).min(1.0);
}

fn effectiveness(ntu: f64) -> f64 {
    ntu / (1.0 + ntu)
}

impl Process {
    /// A line at rest, filled with water.
    pub fn new(tube_gallons: f64, seed: u64) -> Self {
        let wander = |stream, deviation, time_constant_s| {
            Wander::new(Noise::new(seed, stream), deviation, time_constant_s, STEP_S)
        };
        let first = Parcel { moved: -4.0 * tube_gallons, at_s: -60.0, temperature_f: AMBIENT_F };
        Self {
            time_s: 0.0,
            tube_gallons,
            moved: 0.0,
            tube: VecDeque::from([first]),
            pump_gpm: 0.0,
            flow_gpm: 0.0,
            feed_f: WATER_F,
            tank_f: 58.0,
            raw_f: 60.0,
            hot_side_f: 62.0,
            regenerated_f: 62.0,
            heater_in_f: 64.0,
            heater_out_f: 66.0,
            heating_water_f: 72.0,
            heating_water_flow: 0.0,
            steam_flow: 0.0,
            mixed_f: AMBIENT_F,
            holding_f: AMBIENT_F,
            pasteurized_out_f: 62.0,
            cooled_f: 36.5,
            return_f: AMBIENT_F,
            booster_speed: 0.0,
            back_pressure_psi: BACK_PRESSURE_PSI,
            raw_psi: RAW_STATIC_PSI,
            pasteurized_psi: PASTEURIZED_STATIC_PSI,
            media_psi: [MEDIUM_PSI; 2],
            wanders: Wanders {
                flow: wander(1, 0.12, 8.0),
                milk: wander(2, 0.22, 600.0),
                steam: wander(3, 0.05, 90.0),
                chilled_water: wander(4, 0.15, 150.0),
                back_pressure: wander(5, 0.25, 45.0),
                booster: wander(6, 0.12, 20.0),
            },
        }
    }

    /// Pasteurized minus raw.
    pub fn differential_psi(&self) -> f64 {
        self.pasteurized_psi - self.raw_psi
    }

    /// How long the parcel that leaves the tube now was in `factor` times its volume.
    pub fn residence_s(&self, factor: f64) -> f64 {
        let entered = self.moved - self.tube_gallons * factor;
        let after = self.tube.partition_point(|parcel| parcel.moved <= entered);
        let at = |index: usize| self.tube.get(index).copied();
        let entry_s = match (after.checked_sub(1).and_then(at), at(after)) {
            (Some(before), Some(after)) => {
                let share = (entered - before.moved) / (after.moved - before.moved);
                before.at_s + share * (after.at_s - before.at_s)
            }
            (Some(parcel), None) | (None, Some(parcel)) => parcel.at_s,
            (None, None) => self.time_s,
        };
        self.time_s - entry_s
    }

    /// One step of the model.
    pub fn step(&mut self, inputs: Inputs) {
        self.time_s += STEP_S;
        self.pump(inputs);
        self.plates_before_the_tube(inputs);
        self.holding_tube();
        self.plates_after_the_tube(inputs);
        self.pressures(inputs);
        self.return_of_cleaning(inputs);
    }

    /// The solution loses heat on its way; while nothing comes back the pipe cools.
    fn return_of_cleaning(&mut self, inputs: Inputs) {
        match inputs.return_loss_f.filter(|_| self.flow_gpm > 5.0) {
            Some(loss) => lag(&mut self.return_f, self.holding_f - loss, 25.0),
            None => lag(&mut self.return_f, AMBIENT_F, 900.0),
        }
    }

    fn pump(&mut self, inputs: Inputs) {
        // The drive's ramp: 4 gal/min a second up, 10 down.
        self.pump_gpm +=
            (inputs.flow_target_gpm - self.pump_gpm).clamp(-10.0 * STEP_S, 4.0 * STEP_S);
        let wander = self.wanders.flow.step();
        // With less resistance behind the device the pump moves a little more.
        let diverted = 0.5 * (1.0 - inputs.share_forward);
        let flow = if self.pump_gpm > 1.0 { self.pump_gpm + diverted + wander } else { 0.0 };
        lag(&mut self.flow_gpm, flow, 0.8);
        if flow <= 0.0 && self.flow_gpm < 0.05 {
            self.flow_gpm = 0.0;
        }
        self.moved += self.flow_gpm / 60.0 * STEP_S;
    }

    /// Flow relative to nominal, and the factor by which lags are longer at less flow.
    fn pace(&self) -> (f64, f64) {
        let relative = self.flow_gpm / NOMINAL_GPM;
        (relative, 1.0 / relative.max(0.02))
    }

    fn plates_before_the_tube(&mut self, inputs: Inputs) {
        let (relative, slower) = self.pace();
        let forward = inputs.share_forward;
        let milk = self.wanders.milk.step();
        let feed = match inputs.feed {
            Feed::Water => WATER_F,
            Feed::Milk => MILK_F + milk,
        };
        lag(&mut self.feed_f, feed, 25.0);
        let share = self.flow_gpm / 60.0 * STEP_S / TANK_GALLONS;
        let returned = self.holding_f - 1.0;
        self.tank_f += share
            * (forward * (self.feed_f - self.tank_f) + (1.0 - forward) * (returned - self.tank_f));
        lag(&mut self.tank_f, AMBIENT_F, 9000.0);
        lag(&mut self.raw_f, self.tank_f, 4.0 * slower);

        if forward > 0.5 {
            lag(&mut self.hot_side_f, self.holding_f - 0.2, 12.0 * slower);
        } else {
            lag(&mut self.hot_side_f, self.raw_f, 40.0 * slower);
        }
        let regenerator = effectiveness(REGENERATOR_NTU * inputs.conductance / relative.max(0.02));
        let exchanged = regenerator * (self.hot_side_f - self.raw_f);
        lag(&mut self.regenerated_f, self.raw_f + exchanged, 9.0 * slower);
        lag(&mut self.pasteurized_out_f, self.hot_side_f - exchanged, 9.0 * slower);
        lag(&mut self.heater_in_f, self.regenerated_f, 4.0 * slower);

        let pumped = f64::from(u8::from(inputs.heating_water_pump));
        lag(&mut self.heating_water_flow, pumped, 3.0);
        let ntu = HEATER_NTU * inputs.conductance * self.heating_water_flow / relative.max(0.02);
        let rise = effectiveness(ntu) * (self.heating_water_f - self.heater_in_f);
        lag(&mut self.heater_out_f, self.heater_in_f + rise, 6.0 * slower);
        let steam_wander = 1.0 + self.wanders.steam.step();
        lag(&mut self.steam_flow, inputs.steam_valve * steam_wander, 3.0);
        let loss = 0.4 * (self.heating_water_f - AMBIENT_F);
        let heat = STEAM * self.steam_flow - self.flow_gpm * rise - loss;
        self.heating_water_f += heat / 60.0 * STEP_S / HEATING_WATER_GALLONS;
    }

    fn holding_tube(&mut self) {
        if self.flow_gpm > 0.0 {
            self.tube.push_back(Parcel {
                moved: self.moved,
                at_s: self.time_s,
                temperature_f: self.heater_out_f,
            });
        }
        let leaving = self.moved - self.tube_gallons;
        // A product's factor may ask for up to twice the volume.
        while self.tube.get(1).is_some_and(|next| next.moved <= leaving - self.tube_gallons) {
            self.tube.pop_front();
        }
        let after = self.tube.partition_point(|parcel| parcel.moved <= leaving);
        if let Some(parcel) = self.tube.get(after.saturating_sub(1)) {
            let age = self.time_s - parcel.at_s;
            let kept = (parcel.temperature_f - AMBIENT_F) / (1.0 + TUBE_LOSS_PER_S * age);
            lag(&mut self.mixed_f, AMBIENT_F + kept, 0.7);
        }
        let mixed = self.mixed_f;
        lag(&mut self.holding_f, mixed, 0.7);
    }

    fn plates_after_the_tube(&mut self, inputs: Inputs) {
        let (_, slower) = self.pace();
        let chilled = CHILLED_WATER_F + self.wanders.chilled_water.step();
        if inputs.share_forward > 0.5 && self.flow_gpm > 5.0 {
            let cooled = chilled + 0.04 * (self.pasteurized_out_f - chilled);
            lag(&mut self.cooled_f, cooled, 8.0 * slower);
        } else {
            // At rest the product warms a little towards the room.
            lag(&mut self.cooled_f, chilled + 1.2, 150.0);
        }
    }

    fn pressures(&mut self, inputs: Inputs) {
        let (relative, _) = self.pace();
        let square = relative * relative;
        let booster_wander = self.wanders.booster.step();
        let back_wander = self.wanders.back_pressure.step();

        // The pump spins up in a few seconds and is braked by the milk when it stops.
        let (speed, time_constant_s) = if inputs.booster { (1.0, 1.5) } else { (0.0, 0.7) };
        lag(&mut self.booster_speed, speed, time_constant_s);
        let lift = (BOOSTER_MAXIMUM_PSI + SUCTION_PSI - 1.2 + booster_wander)
            * self.booster_speed
            * self.booster_speed;
        let raw = RAW_STATIC_PSI - SUCTION_PSI * square + lift;
        lag(&mut self.raw_psi, raw, 0.5);

        let back = if inputs.back_pressure { BACK_PRESSURE_PSI } else { LOST_BACK_PRESSURE_PSI };
        lag(&mut self.back_pressure_psi, back, 2.5);
        let flowing = self.back_pressure_psi + back_wander + COOLER_DROP_PSI * square
            - PASTEURIZED_STATIC_PSI;
        let (target, time_constant_s) = if inputs.share_forward > 0.5 && relative > 0.1 {
            (PASTEURIZED_STATIC_PSI + flowing, if inputs.back_pressure { 3.0 } else { 1.0 })
        } else {
            (PASTEURIZED_STATIC_PSI, 6.0)
        };
        lag(&mut self.pasteurized_psi, target, time_constant_s);
        for (psi, throttled) in self.media_psi.iter_mut().zip(inputs.media_psi) {
            lag(psi, throttled.unwrap_or(MEDIUM_PSI), 0.8);
        }
    }
}
