//! `[cleaning]`: what a plant asks of its cleanings.

use super::{RawCleaning, Reader, Text};
use crate::cleaning::CleaningPlan;
use crate::error::Error;
use crate::limit::TemperatureLimit;
use trace::{Duration, TemperatureUnit};

impl Reader<'_> {
    pub(super) fn cleaning(&self, raw: &RawCleaning) -> Result<CleaningPlan, Error> {
        let RawCleaning { temperature, minimum_time, longest_production_run } = raw;
        let temperature = temperature.as_ref().map(|text| {
            let (value, unit) = self.quantity::<TemperatureUnit>(text, "cleaning.temperature")?;
            Ok(TemperatureLimit::Single(value, unit))
        });
        let temperature = temperature.transpose()?;
        if let (Some(text), None) = (minimum_time, temperature) {
            return Err(self.wrong(
                text,
                "cleaning.minimum_time",
                "needs the temperature beside it at which the time counts, such as temperature = \
                 \"160 degF\"",
            ));
        }
        Ok(CleaningPlan {
            temperature,
            minimum_time: self.some_time(minimum_time.as_ref(), "cleaning.minimum_time")?,
            longest_production_run: self
                .some_time(longest_production_run.as_ref(), "cleaning.longest_production_run")?,
        })
    }

    /// A time that is not nothing.
    fn some_time(&self, text: Option<&Text>, key: &str) -> Result<Option<Duration>, Error> {
        let Some(text) = text else { return Ok(None) };
        match self.duration(text, key)? {
            Duration::ZERO => Err(self.wrong(text, key, "must be above 0")),
            time => Ok(Some(time)),
        }
    }
}
