//! The heating's controller: the milk's temperature sets that of the hot water, which sets the
//! steam valve.

use crate::noise::Noise;
use crate::step::STEP_S;

/// How far above the product's limit the milk is held, °F.
pub(crate) const SET_POINT_MARGIN_F: f64 = 2.8;

const GAIN: f64 = 1.7;
const RESET_S: f64 = 45.0;
/// °F of hot water a second, up and down: plates and gaskets are warmed gently.
const WATER_RAMP_F_PER_S: f64 = 0.9;
const WATER_RANGE_F: (f64, f64) = (60.0, 186.0);
/// Steam valve opening for each °F that the hot water lacks.
const WATER_GAIN: f64 = 0.12;
/// The valve's stem sticks: it moves only when it is asked for more than this share of its travel.
/// That is what makes a real controller hunt a little all day.
const STICTION: f64 = 0.06;

/// A controller of two loops.
#[derive(Debug, Clone)]
pub(crate) struct HeatingControl {
    noise: Noise,
    measured_f: f64,
    integral_f: f64,
    water_target_f: f64,
    valve: f64,
}

impl HeatingControl {
    pub fn new(seed: u64) -> Self {
        Self {
            noise: Noise::new(seed, 20),
            measured_f: 66.0,
            integral_f: 8.0,
            water_target_f: 72.0,
            valve: 0.0,
        }
    }

    /// The steam valve's opening, 0 to 1. It is shut while the hot water stands.
    pub fn step(&mut self, on: bool, set_point_f: f64, heater_out_f: f64, water_f: f64) -> f64 {
        let noise = 0.03 * self.noise.bell();
        // The probe's lag.
        self.measured_f += (heater_out_f + noise - self.measured_f) * STEP_S / 2.0;
        if !on {
            self.water_target_f = water_f.clamp(WATER_RANGE_F.0, WATER_RANGE_F.1);
            self.valve = 0.0;
            return self.valve;
        }
        let error = set_point_f - self.measured_f;
        let wanted = set_point_f + GAIN * error + self.integral_f;
        let target = wanted.clamp(WATER_RANGE_F.0, WATER_RANGE_F.1);
        let ramp = WATER_RAMP_F_PER_S * STEP_S;
        self.water_target_f += (target - self.water_target_f).clamp(-ramp, ramp);
        // Nothing is summed up while the hot water can't follow, so that the milk does not
        // overshoot when it arrives.
        let follows = (wanted - self.water_target_f).abs() < 2.0 && (water_f - wanted).abs() < 6.0;
        if follows {
            self.integral_f =
                (self.integral_f + GAIN * error * STEP_S / RESET_S).clamp(-10.0, 22.0);
        }
        let asked = (WATER_GAIN * (self.water_target_f - water_f)).clamp(0.0, 1.0);
        if (asked - self.valve).abs() > STICTION || asked <= 0.0 {
            self.valve = asked;
        }
        self.valve
    }
}
