//! The holding tube as it was certified.

use trace::{Decimal, Duration, FlowUnit};

/// A volume flow with its unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Flow {
    /// The figure, greater than 0.
    pub value: Decimal,
    /// Its unit.
    pub unit: FlowUnit,
}

impl Flow {
    /// The flow in `unit`, as the nearest binary number.
    pub fn in_unit(self, unit: FlowUnit) -> f64 {
        self.unit.convert(self.value.to_f64(), unit)
    }
}

/// A holding tube certified by a test: at `test_flow` the holding time was `test_time`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tube {
    /// The flow during the test.
    pub test_flow: Flow,
    /// The holding time that the test found.
    pub test_time: Duration,
    /// The date of the test, as the plant writes it.
    pub tested_on: Option<String>,
    /// Who tested.
    pub tested_by: Option<String>,
}
