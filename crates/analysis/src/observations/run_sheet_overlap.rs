//! Two runs of the run sheet claim one time.

use super::look::{Found, Look};
use trace::{FigureKind, Definition, Instant, Interval, Rank, SourcePosition, Value};

pub(super) const DEFINITION: Definition = Definition {
    key: "run_sheet_overlap",
    title: "run sheet overlaps itself",
    rank: Rank::Note,
    figures: &[("line", FigureKind::Count)],
    sentence: "this run begins before that of line {line} ends; whose milk it was is not known",
    about: &[],
    why: "Two runs claim one time, so it is not known which lot and tank an exception there \
          concerns.",
    what_to_do: "Correct the start or the end of one of the two runs on the sheet.",
    source: "Holdtrace's own check (method, section 8)",
};

pub(super) fn find(look: &Look<'_>, found: &mut Found<'_>) {
    let Some(sheet) = look.context.record.run_sheet() else { return };
    let mut until: Option<(Instant, u64)> = None;
    for run in sheet.runs() {
        if let Some((end, line)) = until
            && run.interval.start() < end
        {
            let both = Interval::between(run.interval.start(), end.min(run.interval.end()));
            found.add(both, 1, |mut one| {
                one.position =
                    Some(SourcePosition { file: sheet.file().clone(), line: run.line });
                one.with("line", Value::Count(line))
            });
        }
        if until.is_none_or(|(end, _)| end < run.interval.end()) {
            until = Some((run.interval.end(), run.line));
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::specimen::{day, observed, seen};

    #[test]
    fn two_runs_that_claim_one_time_are_told_once() {
        let audit = day("F*10")
            .run((0, 3000), "milk", "", "")
            .run((2000, 5000), "cream", "", "")
            .run((5000, 9000), "milk", "", "")
            .audit();
        // The first run stands in line 2 of the sheet, the second in line 3.
        assert_eq!(observed(&audit, "run_sheet_overlap"), ["2000..3000 n=1 line=2"]);
        let found = seen(&audit, "run_sheet_overlap");
        let line = found.first().and_then(|one| one.position.as_ref()).map(|place| place.line);
        assert_eq!(line, Some(3));
    }

    #[test]
    fn runs_that_touch_are_silent() {
        let day = day("F*10").run((0, 3000), "milk", "", "").run((3000, 5000), "cream", "", "");
        assert_eq!(observed(&day.audit(), "run_sheet_overlap"), [""; 0]);
    }
}
