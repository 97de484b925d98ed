//! The flow diversion device and the booster pump: what the line's interlocks do.

use crate::step::STEP_MILLISECONDS;

/// How far above the product's limit the device diverts, °F.
pub(crate) const CUT_OUT_MARGIN_F: f64 = 0.8;
/// How far above the product's limit the device may go forward, °F.
pub(crate) const CUT_IN_MARGIN_F: f64 = 1.4;
/// How long everything must be good before the device goes forward. At least the holding time, so
/// that what was in the tube when the conditions became good has left it.
const HOLD_OFF_MS: i64 = 20_000;
/// From the decision to the first movement.
const RESPONSE_MS: i64 = 300;
/// From one limit switch to the other.
const TRAVEL_MS: i64 = 600;
/// The flows below and above which the alarms divert, gal/min.
const FLOW_ALARM_GPM: (f64, f64) = (40.0, 54.0);

/// Whether the low-flow alarm is on, of a timing pump that runs.
pub(crate) fn is_too_slow(flow_gpm: f64) -> bool {
    flow_gpm < FLOW_ALARM_GPM.0
}

/// Whether the high-flow alarm is on.
pub(crate) fn is_too_fast(flow_gpm: f64) -> bool {
    flow_gpm > FLOW_ALARM_GPM.1
}

/// What the device sees.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Conditions {
    pub permitted: bool,
    pub holding_f: f64,
    pub limit_f: f64,
    pub differential_psi: f64,
    pub flow_gpm: f64,
    pub flow_alarm_works: bool,
    pub stuck_forward: bool,
}

/// The flow diversion device.
#[derive(Debug, Clone, Default)]
pub(crate) struct Diversion {
    /// Where it is sent.
    forward: bool,
    /// How long it has wanted to go the other way.
    waited_ms: i64,
    /// 0 at the divert limit switch, `TRAVEL_MS` at the forward one.
    position_ms: i64,
}

impl Diversion {
    /// One step of the model.
    pub fn step(&mut self, conditions: Conditions) {
        let Conditions {
            permitted,
            holding_f,
            limit_f,
            differential_psi,
            flow_gpm,
            flow_alarm_works,
            stuck_forward,
        } = conditions;
        let (too_slow, too_fast) = (is_too_slow(flow_gpm), is_too_fast(flow_gpm));
        let is_alarmed = flow_alarm_works && (too_slow || too_fast);
        let (wants_to_change, wait) = if self.forward {
            let good = permitted && holding_f >= limit_f + CUT_OUT_MARGIN_F && !is_alarmed;
            (!good, RESPONSE_MS)
        } else {
            let good = permitted
                && holding_f >= limit_f + CUT_IN_MARGIN_F
                && differential_psi >= 3.0
                && !too_slow
                && !is_alarmed;
            (good, HOLD_OFF_MS)
        };
        self.waited_ms = if wants_to_change { self.waited_ms + STEP_MILLISECONDS } else { 0 };
        if self.waited_ms >= wait {
            self.forward = !self.forward;
            self.waited_ms = 0;
        }
        if self.forward {
            self.position_ms = (self.position_ms + STEP_MILLISECONDS).min(TRAVEL_MS);
        } else if !(stuck_forward && self.is_forward()) {
            self.position_ms = (self.position_ms - STEP_MILLISECONDS).max(0);
        }
    }

    /// Whether it is sent forward, wherever it stands.
    pub const fn is_sent_forward(&self) -> bool {
        self.forward
    }

    /// The forward limit switch is made.
    pub const fn is_forward(&self) -> bool {
        self.position_ms == TRAVEL_MS
    }

    /// The divert limit switch is made.
    pub const fn is_diverted(&self) -> bool {
        self.position_ms == 0
    }

    /// The share of the flow that goes forward.
    pub fn share_forward(&self) -> f64 {
        self.position_ms as f64 / TRAVEL_MS as f64
    }
}

/// The greatest pressure that the booster pump can make, psi.
pub(crate) const BOOSTER_MAXIMUM_PSI: f64 = 13.0;

/// The booster pump's starter and its interlock: it may run only while the timing pump runs, the
/// device is forward and the pasteurized side is well above what the booster can reach.
#[derive(Debug, Clone, Default)]
pub(crate) struct Booster {
    runs: bool,
    waited_ms: i64,
}

impl Booster {
    /// One step of the model.
    pub fn step(
        &mut self,
        timing_pump: bool,
        forward: bool,
        raw_psi: f64,
        pasteurized_psi: f64,
        bypassed: bool,
    ) {
        if self.runs {
            let good = forward && pasteurized_psi - raw_psi >= 4.0;
            self.runs = timing_pump && (good || bypassed);
            self.waited_ms = 0;
        } else if timing_pump && forward && pasteurized_psi >= BOOSTER_MAXIMUM_PSI + 3.0 {
            self.waited_ms += STEP_MILLISECONDS;
            self.runs = self.waited_ms >= 4000;
        } else {
            self.waited_ms = 0;
        }
    }

    /// Whether the pump is driven.
    pub const fn runs(&self) -> bool {
        self.runs
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const GOOD: Conditions = Conditions {
        permitted: true,
        holding_f: 163.8,
        limit_f: 161.0,
        differential_psi: 6.0,
        flow_gpm: 50.0,
        flow_alarm_works: true,
        stuck_forward: false,
    };

    fn after(device: &mut Diversion, milliseconds: i64, conditions: Conditions) {
        for _ in 0..milliseconds / STEP_MILLISECONDS {
            device.step(conditions);
        }
    }

    #[test]
    fn it_goes_forward_only_after_the_hold_off() {
        let mut device = Diversion::default();
        after(&mut device, 19_900, GOOD);
        assert!(device.is_diverted());
        after(&mut device, 800, GOOD);
        assert!(device.is_forward());
    }

    #[test]
    fn it_is_diverted_within_a_second_of_the_cut_out() {
        // At most 1 s from cut-out to fully diverted: PMO Appendix I, test 5.6 (from memory, high
        // confidence).
        let mut device = Diversion::default();
        after(&mut device, 30_000, GOOD);
        after(&mut device, 1000, Conditions { holding_f: 161.7, ..GOOD });
        assert!(device.is_diverted());
    }

    #[test]
    fn a_flow_beyond_either_set_point_diverts_it_while_the_alarm_works() {
        for flow_gpm in [39.0, 55.0] {
            for flow_alarm_works in [false, true] {
                let mut device = Diversion::default();
                after(&mut device, 30_000, GOOD);
                after(&mut device, 1000, Conditions { flow_gpm, flow_alarm_works, ..GOOD });
                assert_eq!(device.is_diverted(), flow_alarm_works, "{flow_gpm}");
            }
        }
    }

    #[test]
    fn each_condition_keeps_it_diverted() {
        for bad in [
            Conditions { permitted: false, ..GOOD },
            Conditions { holding_f: 162.3, ..GOOD },
            Conditions { differential_psi: 2.9, ..GOOD },
            Conditions { flow_gpm: 20.0, ..GOOD },
            Conditions { flow_gpm: 55.0, ..GOOD },
        ] {
            let mut device = Diversion::default();
            after(&mut device, 60_000, bad);
            assert!(device.is_diverted(), "{bad:?}");
        }
    }

    #[test]
    fn a_stuck_device_stays_until_it_is_free() {
        let mut device = Diversion::default();
        after(&mut device, 30_000, GOOD);
        let cold = Conditions { holding_f: 155.0, stuck_forward: true, ..GOOD };
        after(&mut device, 30_000, cold);
        assert!(device.is_forward());
        after(&mut device, 1000, Conditions { stuck_forward: false, ..cold });
        assert!(device.is_diverted());
    }

    #[test]
    fn the_booster_needs_all_three() {
        for (pump, forward, pasteurized, runs) in [
            (true, true, 21.0, true),
            (false, true, 21.0, false),
            (true, false, 21.0, false),
            (true, true, 15.0, false),
        ] {
            let mut booster = Booster::default();
            for _ in 0..100 {
                booster.step(pump, forward, -2.7, pasteurized, false);
            }
            assert_eq!(booster.runs(), runs, "{pump} {forward} {pasteurized}");
        }
    }

    #[test]
    fn the_booster_stops_on_a_low_differential_unless_bypassed() {
        for bypassed in [false, true] {
            let mut booster = Booster { runs: true, waited_ms: 0 };
            booster.step(true, true, 12.3, 15.0, bypassed);
            assert_eq!(booster.runs(), bypassed);
        }
    }
}
