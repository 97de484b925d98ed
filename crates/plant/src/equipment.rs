//! The tests of the equipment that a plant makes, and how often.

use serde::{Deserialize, Serialize};
use std::fmt;

/// A test of the equipment. Names and order are those of the PMO's appendix I (from memory, not
/// verified; the response of the flow diversion device and the salt test are named so in FDA form
/// 2359b, seen).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum EquipmentTest {
    /// Test 1.
    IndicatingThermometerAccuracy,
    /// Test 2.
    RecordingThermometerAccuracy,
    /// Test 3.
    RecordingThermometerTime,
    /// Test 4.
    RecordingAgainstIndicating,
    /// Test 5.
    FlowDiversionDevice,
    /// Test 6.
    LeakProtectorValve,
    /// Test 7.
    IndicatingThermometerResponse,
    /// Test 8.
    RecordingThermometerResponse,
    /// Test 9.
    RegeneratorPressureControls,
    /// Test 10.
    CutInCutOut,
    /// Test 11.
    HoldingTime,
    /// Test 12.
    ThermalLimitController,
    /// Test 13.
    SequenceLogic,
    /// Test 14.
    HoldingTubePressure,
    /// Test 15.
    ElectromagneticInterference,
}

impl EquipmentTest {
    /// All of them, in order.
    pub const ALL: [Self; 15] = [
        Self::IndicatingThermometerAccuracy,
        Self::RecordingThermometerAccuracy,
        Self::RecordingThermometerTime,
        Self::RecordingAgainstIndicating,
        Self::FlowDiversionDevice,
        Self::LeakProtectorValve,
        Self::IndicatingThermometerResponse,
        Self::RecordingThermometerResponse,
        Self::RegeneratorPressureControls,
        Self::CutInCutOut,
        Self::HoldingTime,
        Self::ThermalLimitController,
        Self::SequenceLogic,
        Self::HoldingTubePressure,
        Self::ElectromagneticInterference,
    ];

    /// Key and name.
    const fn words(self) -> (&'static str, &'static str) {
        match self {
            Self::IndicatingThermometerAccuracy => {
                ("indicating_thermometer_accuracy", "indicating thermometer, accuracy")
            }
            Self::RecordingThermometerAccuracy => {
                ("recording_thermometer_accuracy", "recording thermometer, accuracy")
            }
            Self::RecordingThermometerTime => {
                ("recording_thermometer_time", "recording thermometer, time accuracy")
            }
            Self::RecordingAgainstIndicating => (
                "recording_against_indicating",
                "recording thermometer against indicating thermometer",
            ),
            Self::FlowDiversionDevice => {
                ("flow_diversion_device", "flow diversion device, assembly and function")
            }
            Self::LeakProtectorValve => ("leak_protector_valve", "leak-protector valve"),
            Self::IndicatingThermometerResponse => {
                ("indicating_thermometer_response", "indicating thermometer, response")
            }
            Self::RecordingThermometerResponse => {
                ("recording_thermometer_response", "recording thermometer, response")
            }
            Self::RegeneratorPressureControls => {
                ("regenerator_pressure_controls", "regenerator pressure controls")
            }
            Self::CutInCutOut => ("cut_in_cut_out", "cut-in and cut-out temperatures"),
            Self::HoldingTime => ("holding_time", "holding time"),
            Self::ThermalLimitController => {
                ("thermal_limit_controller", "thermal limit controller, sequence logic, indirect")
            }
            Self::SequenceLogic => ("sequence_logic", "sequence logic, direct heating"),
            Self::HoldingTubePressure => {
                ("holding_tube_pressure", "pressure switch of the holding tube")
            }
            Self::ElectromagneticInterference => {
                ("electromagnetic_interference", "electromagnetic interference")
            }
        }
    }

    /// The key in files.
    pub const fn key(self) -> &'static str {
        self.words().0
    }

    /// The name for a person.
    pub const fn name(self) -> &'static str {
        self.words().1
    }

    /// The test of a key.
    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|one| one.key() == key)
    }
}

impl fmt::Display for EquipmentTest {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(self.name())
    }
}

/// How often a plant has its equipment tested.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct TestPlan {
    /// The tests that the plant makes; those that were ever entered when it names none.
    pub tests: Vec<EquipmentTest>,
    /// Every so many months.
    pub months: u32,
    /// The holding time every so many months.
    pub holding_time_months: u32,
}

impl Default for TestPlan {
    /// Every three months, the holding time every six: ATCP 65.68(3)(b), 1 NYCRR 3.27(b), seen.
    fn default() -> Self {
        Self { tests: Vec::new(), months: 3, holding_time_months: 6 }
    }
}

impl TestPlan {
    /// After how many months a test is due again.
    pub const fn months_of(&self, test: EquipmentTest) -> u32 {
        match test {
            EquipmentTest::HoldingTime => self.holding_time_months,
            _ => self.months,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_test_has_a_key_of_its_own() {
        for (place, test) in EquipmentTest::ALL.into_iter().enumerate() {
            assert_eq!(EquipmentTest::from_key(test.key()), Some(test));
            let written = toml::Value::try_from(test);
            assert_eq!(written.as_ref().ok().and_then(toml::Value::as_str), Some(test.key()));
            assert!(EquipmentTest::ALL[..place].iter().all(|other| other.name() != test.name()));
        }
        assert_eq!(EquipmentTest::from_key("holding time"), None);
    }
}
