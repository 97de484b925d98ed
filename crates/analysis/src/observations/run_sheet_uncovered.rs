//! Forward flow in production that no run of the sheet covers.

use super::look::{Found, Look};
use plant::Mode;
use trace::{Definition, Rank};

pub(super) const DEFINITION: Definition = Definition {
    key: "run_sheet_uncovered",
    title: "forward flow not on the run sheet",
    rank: Rank::Note,
    figures: &[],
    sentence: "forward flow that no run of the sheet covers; complete the sheet",
    about: &[],
    why: "Product went forward that is on no run of the sheet, so an exception there names no lot \
          and no tank.",
    what_to_do: "Complete the run sheet.",
    source: "Holdtrace's own check (method, section 8)",
};

pub(super) fn find(look: &Look<'_>, found: &mut Found<'_>) {
    let context = look.context;
    let Some(sheet) = context.record.run_sheet() else { return };
    let instants = context.record.instants();
    let runs = context.verdicts.runs(|sample| {
        context.verdicts.is_forward(sample)
            && context.mode_at(sample) == Mode::Production
            && sheet.runs_at(instants[sample]).next().is_none()
    });
    for run in runs {
        found.add(context.verdicts.observed(run), run.1 - run.0 + 1, |one| one);
    }
}

#[cfg(test)]
mod tests {
    use crate::specimen::{Specimen, day, observed};

    #[test]
    fn forward_flow_after_the_last_run_is_told() {
        let of = |specimen: Specimen| observed(&specimen.audit(), "run_sheet_uncovered");
        let sheet = |valve: &str| day(valve).run((0, 3000), "milk", "", "");
        // The run ends before 3000.
        assert_eq!(of(sheet("F*6")), ["3000..5000 n=3"]);
        assert_eq!(of(sheet("F*3 D*3")), [""; 0]);
        assert_eq!(of(sheet("F*6").mode("production*3 water")), [""; 0]);
        // Without a sheet nothing is asked of one.
        assert_eq!(of(day("F*6")), [""; 0]);
    }
}
