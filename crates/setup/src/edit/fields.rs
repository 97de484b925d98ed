//! The fields of the form, in the order of a plant file's description: the name of each, what can stand
//! in it, and what holds where nothing does.

use crate::text::row_in_words;
use plant::{AnyUnit, DateOrder, LISTS, LoggerClock, ROWS, Setting};
use trace::Role;

/// A page of the form.
#[derive(Debug)]
pub struct Section {
    /// Its title.
    pub title: &'static str,
    /// The groups of fields on it.
    pub groups: &'static [Group],
}

/// Fields that belong together: those of a table of the plant file.
#[derive(Debug)]
pub struct Group {
    /// The table; empty for the head of the file.
    pub table: &'static str,
    /// The heading.
    pub title: &'static str,
    /// What one of them is called, where there can be several tables of that name.
    pub several: Option<&'static str>,
    /// Its fields.
    pub fields: &'static [Field],
}

/// A field.
#[derive(Debug)]
pub struct Field {
    /// The key.
    pub key: &'static str,
    /// The name before the field.
    pub name: &'static str,
    /// What can stand in it.
    pub kind: Kind,
    /// What holds where nothing stands in it, or how it is written.
    hint: &'static str,
}

/// What can stand in a field.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A text, or a figure with its unit.
    Text,
    /// The name of a column of the logger.
    Column,
    /// A whole number.
    Whole,
    /// Yes or no.
    Switch,
    /// Several texts, one a line.
    Words,
    /// A least and a greatest figure, `32 to 230`.
    Range,
    /// One of a few.
    Choice(Choices),
}

/// What there is to choose from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Choices {
    /// Whether the logger's clock follows summer time.
    Clock,
    /// The order of day, month and year.
    DateOrder,
    /// The decimal mark.
    Mark,
    /// When a row is written.
    Logging,
    /// What day numbers count from.
    DayNumbers,
    /// How times of day are written.
    Times,
    /// The units of a part of a second.
    PartOfSecond,
    /// The units of time.
    Time,
    /// The built-in rows of temperature and time.
    Row,
    /// The lists of what a record must hold.
    List,
    /// The units of a role.
    Unit(Role),
}

impl Choices {
    /// Each value with what it means.
    pub fn all(self) -> Vec<(String, String)> {
        let same = |text: &str| (text.to_owned(), text.to_owned());
        match self {
            Self::Clock => [
                (LoggerClock::Local, "changes to daylight saving time with the plant"),
                (LoggerClock::Standard, "does not change to daylight saving time"),
            ]
            .map(|(clock, words)| (clock.name().to_owned(), words.to_owned()))
            .to_vec(),
            Self::DateOrder => [DateOrder::YearFirst, DateOrder::MonthFirst, DateOrder::DayFirst]
                .map(|order| (order.name().to_owned(), order.words().to_owned()))
                .to_vec(),
            Self::Mark => [(".", "dot: 161.5"), (",", "comma: 161,5")]
                .map(|(mark, words)| (mark.to_owned(), words.to_owned()))
                .to_vec(),
            Self::Logging => {
                vec![("on change".to_owned(), "only where something changed".to_owned())]
            }
            Self::DayNumbers => ["1900", "1904"].map(same).to_vec(),
            Self::Times => [("unpadded", "6:5:3"), ("hours", "6")]
                .map(|(word, example)| (word.to_owned(), format!("{word}: {example}")))
                .to_vec(),
            Self::PartOfSecond => ["s", "ms", "us"].map(same).to_vec(),
            Self::Time => ["h", "min", "s", "ms", "us"].map(same).to_vec(),
            Self::Row => ROWS.iter().map(|row| (row.key.to_owned(), row_in_words(row))).collect(),
            Self::List => LISTS.map(same).to_vec(),
            Self::Unit(role) => {
                AnyUnit::of_role(role).into_iter().map(|unit| same(unit.symbol())).collect()
            }
        }
    }
}

impl Group {
    /// The name of the tables of which there can be several.
    pub fn list(&self) -> &'static str {
        self.table.split('.').next().unwrap_or_default()
    }

    /// Whether it is what a column is bound to, of the one logger or of one of several.
    pub fn is_column(&self) -> bool {
        let rest = self.table.strip_prefix("loggers.").unwrap_or(self.table);
        rest.starts_with("columns.")
    }
}

impl Field {
    /// The limit that the field sets, where it is one.
    fn setting(&self, group: &Group) -> Option<Setting> {
        let is_it =
            |setting: &Setting| setting.key().split_once('.') == Some((group.table, self.key));
        Setting::ALL.into_iter().find(is_it)
    }

    /// What holds where nothing stands in the field, as far as it is one figure: that of a limit.
    pub fn built_in(&self, group: &Group) -> &'static str {
        self.setting(group).map_or("", Setting::figure)
    }

    /// How the field is filled in; of a limit, who stands behind the built-in figure, and the bound.
    pub fn hint(&self, group: &Group) -> String {
        let Some(setting) = self.setting(group) else { return self.hint.to_owned() };
        let source = setting.built_in().in_words();
        match setting.bound() {
            Some(bound) => format!("{source}; bound: {bound}"),
            None => source,
        }
    }
}

const fn field(key: &'static str, name: &'static str, kind: Kind, hint: &'static str) -> Field {
    Field { key, name, kind, hint }
}

const fn text(key: &'static str, name: &'static str, hint: &'static str) -> Field {
    field(key, name, Kind::Text, hint)
}

/// A limit; its hint is that of its setting.
const fn limit(key: &'static str, name: &'static str) -> Field {
    field(key, name, Kind::Text, "")
}

const COLUMN: Field = field("column", "Column", Kind::Column, "its name in the logger's header");

/// What is bound to a column, of the one logger or of one of several.
macro_rules! bound {
    ($prefix:literal, $several:expr, $table:literal, $title:literal, $fields:expr) => {
        Group { table: concat!($prefix, $table), title: $title, several: $several, fields: $fields }
    };
}

/// The fields of a column that holds readings.
macro_rules! reading {
    ($role:ident) => {
        &[
            COLUMN,
            field(
                "unit",
                "Unit",
                Kind::Choice(Choices::Unit(Role::$role)),
                "where the header does not say it",
            ),
            field(
                "range",
                "Range of the sensor",
                Kind::Range,
                "such as 32 to 230, in the unit beside it; a reading outside is none",
            ),
        ]
    };
}

/// The columns of the one logger, or of one of several.
macro_rules! columns {
    ($prefix:literal, $several:expr) => {
        [
            bound!($prefix, $several, "fraction", "Fraction of the second", FRACTION),
            bound!($prefix, $several, "since_start", "Time since a start", SINCE_START),
            bound!($prefix, $several, "valve", "Flow diversion device", VALVE),
            bound!($prefix, $several, "valve_forward", "Forward position switch", &[COLUMN]),
            bound!($prefix, $several, "valve_divert", "Divert position switch", &[COLUMN]),
            bound!(
                $prefix,
                $several,
                "holding_temperature",
                "Holding temperature",
                reading!(HoldingTemperature)
            ),
            bound!($prefix, $several, "raw_pressure", "Raw pressure", reading!(RawPressure)),
            bound!(
                $prefix,
                $several,
                "pasteurized_pressure",
                "Pasteurized pressure",
                reading!(PasteurizedPressure)
            ),
            bound!(
                $prefix,
                $several,
                "differential_pressure",
                "Differential pressure",
                reading!(DifferentialPressure)
            ),
            bound!(
                $prefix,
                $several,
                "recorder_temperature",
                "Recorder temperature",
                reading!(RecorderTemperature)
            ),
            bound!($prefix, $several, "flow_rate", "Flow", reading!(FlowRate)),
            bound!(
                $prefix,
                $several,
                "raw_temperature",
                "Raw milk temperature",
                reading!(RawTemperature)
            ),
            bound!(
                $prefix,
                $several,
                "regenerated_temperature",
                "Regenerated milk temperature",
                reading!(RegeneratedTemperature)
            ),
            bound!(
                $prefix,
                $several,
                "heating_water_temperature",
                "Heating water temperature",
                reading!(HeatingWaterTemperature)
            ),
            bound!(
                $prefix,
                $several,
                "cooled_temperature",
                "Cooled product temperature",
                reading!(CooledTemperature)
            ),
            bound!(
                $prefix,
                $several,
                "cleaning_return_temperature",
                "CIP return temperature",
                reading!(CleaningReturnTemperature)
            ),
            bound!(
                $prefix,
                $several,
                "heating_medium_pressure",
                "Heating medium pressure",
                reading!(HeatingMediumPressure)
            ),
            bound!(
                $prefix,
                $several,
                "cooling_medium_pressure",
                "Cooling medium pressure",
                reading!(CoolingMediumPressure)
            ),
            bound!($prefix, $several, "leak_detect", "Leak detect", &[COLUMN]),
            bound!($prefix, $several, "timing_pump", "Timing pump", &[COLUMN]),
            bound!($prefix, $several, "booster_pump", "Booster pump", &[COLUMN]),
            bound!($prefix, $several, "high_flow_alarm", "High-flow alarm", &[COLUMN]),
            bound!($prefix, $several, "low_flow_alarm", "Low-flow alarm", &[COLUMN]),
            bound!($prefix, $several, "product", "Product", &[COLUMN]),
            bound!($prefix, $several, "lot", "Lot", &[COLUMN]),
            bound!($prefix, $several, "mode", "Mode", MODE),
            bound!($prefix, $several, "mode_switch", "Mode switch", &[COLUMN]),
        ]
    };
}

const VALVE: &[Field] = &[
    COLUMN,
    field("forward", "Words for forward", Kind::Words, "one per line"),
    field("divert", "Words for divert", Kind::Words, "one per line"),
    field("travel", "Words for travel", Kind::Words, "one per line"),
];

const MODE: &[Field] = &[
    COLUMN,
    field("production", "Words for production", Kind::Words, "one per line"),
    field("water", "Words for water", Kind::Words, "one per line"),
    field("cleaning", "Words for cleaning", Kind::Words, "one per line"),
];

/// How files are read.
const FORM: &[Field] = &[
    field(
        "clock",
        "Clock of the logger",
        Kind::Choice(Choices::Clock),
        "blank: it changes to daylight saving time with the plant",
    ),
    field(
        "date_order",
        "Order of a date",
        Kind::Choice(Choices::DateOrder),
        "only where the files leave it open",
    ),
    field(
        "decimal_mark",
        "Decimal mark",
        Kind::Choice(Choices::Mark),
        "only where the files leave it open",
    ),
    text("sheet", "Sheet", "of a workbook with several"),
    field(
        "day_numbers",
        "Day numbers count from",
        Kind::Choice(Choices::DayNumbers),
        "only where a spreadsheet wrote such stamps",
    ),
    field("times", "Times are written", Kind::Choice(Choices::Times), "blank: 06:05:03"),
    field("logging", "Rows are written", Kind::Choice(Choices::Logging), "blank: at each step"),
    text(
        "longest_hold",
        "A reading is valid for at most",
        "such as 10 min; with rows only where something changed",
    ),
    text("step", "Logger scan interval", "such as 1 s; with the same"),
];

const STAMPS: &[Field] = &[
    field("date", "Column of the date", Kind::Column, "if separate"),
    field("time", "Column of the time", Kind::Column, "date and time, or the time"),
    field("year", "Column of the year", Kind::Column, "with the day, for a date"),
    field("day_of_year", "Column of the day", Kind::Column, "the day of the year"),
];

const FRACTION: &[Field] =
    &[COLUMN, field("unit", "Unit", Kind::Choice(Choices::PartOfSecond), "of its figures")];

const SINCE_START: &[Field] = &[
    COLUMN,
    field("unit", "Unit", Kind::Choice(Choices::Time), "of its figures"),
    text("start", "Line of the start", "how it begins, above the header"),
];

const LONG: &[Field] = &[
    field("tag", "Column of the channel", Kind::Column, "the channel's name"),
    field("value", "Column of the reading", Kind::Column, ""),
    field(
        "quality",
        "Column of the quality",
        Kind::Column,
        "a reading whose quality is not good is none",
    ),
];

const LOGGER: Option<&str> = Some("logger");

const OF_ONE: [Group; 27] = columns!("columns.", None);

const OF_SEVERAL: [Group; 27] = columns!("loggers.columns.", LOGGER);

/// What stands before the columns of one of several loggers.
const LOGGERS: [Group; 4] = [
    Group {
        table: "loggers",
        title: "Logger",
        several: LOGGER,
        fields: &[
            text("name", "Name", ""),
            text("files", "Names of its files", "with one * for what differs from day to day"),
            text(
                "tolerance",
                "Tolerance",
                "how far a reading may lie from a row, such as 2 s; not for the logger of the device",
            ),
            text("clock_ahead", "Its clock is ahead by", "such as 12 s"),
            text("clock_behind", "Its clock is behind by", "such as 12 s"),
        ],
    },
    Group { table: "loggers.form", title: "Files", several: LOGGER, fields: FORM },
    Group { table: "loggers.columns", title: "Stamps", several: LOGGER, fields: STAMPS },
    Group { table: "loggers.form.long", title: "One reading a row", several: LOGGER, fields: LONG },
];

/// All of one of several loggers.
const ALL_OF_SEVERAL: [Group; 31] = {
    let [a, b, c, d] = LOGGERS;
    let [e, f, g, h, i, j, k, l, m, n, o, p, q, r, s, t, u, v, w, x, aa, bb, cc, dd, ee, ff, gg] =
        OF_SEVERAL;
    [
        a, b, c, d, e, f, g, h, i, j, k, l, m, n, o, p, q, r, s, t, u, v, w, x, aa, bb, cc, dd, ee,
        ff, gg,
    ]
};

/// The sections of the form.
pub const SECTIONS: &[Section] = &[
    Section {
        title: "Plant",
        groups: &[Group {
            table: "",
            title: "Plant and pasteurizer",
            several: None,
            fields: &[
                text("plant", "Plant", "the plant's name, as it is printed"),
                text("unit", "Pasteurizer", "its name"),
                text("zone", "Time zone", "IANA name, such as America/Chicago"),
                text("recorder", "Recorder", "its number or place"),
                text(
                    "holding_temperature_is",
                    "Holding temperature is the",
                    "indicating or recorder: which thermometer; left out: indicating",
                ),
                text(
                    "nominal_flow",
                    "Nominal flow",
                    "such as 50 gal/min; for volumes where no flow is recorded",
                ),
                text(
                    "default_product",
                    "Product where none is named",
                    "one of the products; left out: the strictest limit holds",
                ),
                text("retention", "Records are kept for", "such as 2 years; needs its source"),
                text("retention_source", "Source of that", "who asks for it, and where"),
            ],
        }],
    },
    Section {
        title: "Logger",
        groups: &[
            Group { table: "files", title: "Files", several: None, fields: FORM },
            Group { table: "columns", title: "Stamps", several: None, fields: STAMPS },
            Group { table: "files.long", title: "One reading a row", several: None, fields: LONG },
        ],
    },
    Section { title: "Columns", groups: &OF_ONE },
    Section { title: "Several loggers", groups: &ALL_OF_SEVERAL },
    Section {
        title: "Products",
        groups: &[Group {
            table: "products",
            title: "Products",
            several: Some("product"),
            fields: &[
                text("name", "Name", "as the logger or the run sheet names it"),
                field(
                    "row",
                    "Row of a regulation",
                    Kind::Choice(Choices::Row),
                    "or a temperature, a time and a source of the plant's own",
                ),
                text("temperature", "Temperature", "such as 170 degF"),
                text("minimum_time", "Holding time", "such as 15 s"),
                text("source", "Source", "who allows it, and where"),
                text(
                    "factor",
                    "Factor of the tube's volume",
                    "for viscous products, such as 0.9; left out: 1",
                ),
                field(
                    "cooled_exempt",
                    "May leave the cooler warm",
                    Kind::Switch,
                    "such as milk to be cultured",
                ),
                field(
                    "judged_by_recorder",
                    "The recorder must show it too",
                    Kind::Switch,
                    "such as sweetened product in New York (1 NYCRR 3.27)",
                ),
            ],
        }],
    },
    Section {
        title: "Limits",
        groups: &[
            Group {
                table: "limits",
                title: "Limits of every product",
                several: None,
                fields: &[
                    limit("differential", "Pressure differential"),
                    text("differential_source", "Source of that", "who asks for it, and where"),
                    field("differential_at_all_times", "Also while diverted", Kind::Switch, ""),
                    limit("response", "Device response time"),
                    limit("episode", "Join into one episode within"),
                    limit("gap", "Gap limit: longest step between rows"),
                    limit("travel", "Device travel time"),
                    limit("record_interval", "Required sampling interval"),
                    limit("frozen", "A reading is frozen after"),
                    limit("repeated", "All readings repeated after"),
                    limit("diverted_hole", "Longest gap while diverted"),
                    limit("low_flow", "Lowest flow used"),
                    limit("high_flow_alarm", "High-flow alarm above"),
                    limit("low_flow_alarm", "Low-flow alarm below"),
                    limit("booster_differential", "Booster pump needs"),
                    limit("zero_check", "Zero check at a standstill"),
                    limit("recorder_difference", "Recorder against indicating thermometer"),
                    limit("cooled_maximum", "Cooled product, maximum"),
                    limit("raw_maximum", "Raw milk, maximum"),
                    limit("regeneration_minimum", "Regeneration, minimum"),
                    limit("temperature_slew", "Temperature change, maximum"),
                    limit("pressure_slew", "Pressure change, maximum"),
                ],
            },
            Group {
                table: "accepted",
                title: "Who accepted limits beyond their bounds",
                several: None,
                fields: &[
                    text("by", "Accepted by", ""),
                    text("document", "Document", "that says so"),
                    text("date", "Date", "such as 2026-01-05"),
                ],
            },
        ],
    },
    Section {
        title: "Holding tube",
        groups: &[Group {
            table: "tube",
            title: "The holding time test, the dimensions of the tube, or both",
            several: None,
            fields: &[
                text("test_flow", "Flow of the test", "such as 50 gal/min"),
                text("test_time", "Time of the test", "such as 16.5 s"),
                text("tested_on", "Tested on", "such as 2026-01-14"),
                text("tested_by", "Tested by", ""),
                text("length", "Length", "such as 15 m, or mm, in, ft"),
                text("inner_diameter", "Inner diameter", "such as 72.9 mm, or m, in, ft"),
                text("density", "Density", "such as 1004 kg/m3"),
                text("viscosity", "Viscosity", "such as 0.6 mPa.s"),
            ],
        }],
    },
    Section {
        title: "Amounts",
        groups: &[Group {
            table: "amounts",
            title: "The run sheet's quantities against the meter",
            several: None,
            fields: &[text("tolerance", "Tolerance", "blank: 3 % (common practice)")],
        }],
    },
    Section {
        title: "Cleaning",
        groups: &[Group {
            table: "cleaning",
            title: "Requirements for cleanings; a blank field sets none",
            several: None,
            fields: &[
                text(
                    "temperature",
                    "Minimum temperature",
                    "such as 160 degF, by the holding temperature",
                ),
                text(
                    "minimum_time",
                    "Minimum time at temperature",
                    "such as 20 min, in one cleaning",
                ),
                text(
                    "longest_production_run",
                    "Longest production run",
                    "such as 10 h, without a cleaning in between",
                ),
            ],
        }],
    },
    Section {
        title: "Shifts",
        groups: &[Group {
            table: "shifts",
            title: "Shifts",
            several: Some("shift"),
            fields: &[
                text("name", "Name", ""),
                text("start", "Begins", "such as 22:00"),
                text("end", "Ends", "such as 06:00, on the next day where it is earlier"),
            ],
        }],
    },
    Section {
        title: "Review",
        groups: &[
            Group {
                table: "completeness",
                title: "Required entries of a day",
                several: None,
                fields: &[
                    field(
                        "list",
                        "List",
                        Kind::Choice(Choices::List),
                        "of a regulation; the items stand in docs/method.md",
                    ),
                    field("extra", "The plant's own items", Kind::Words, "one per line"),
                ],
            },
            Group {
                table: "equipment",
                title: "Tests of the equipment",
                several: None,
                fields: &[
                    field("tests", "Tests required", Kind::Words, "keys, one per line"),
                    field(
                        "months",
                        "Months between tests",
                        Kind::Whole,
                        "blank: 3 (ATCP 65.68(3)(b), 1 NYCRR 3.27(b))",
                    ),
                    field(
                        "holding_time_months",
                        "Months between holding time tests",
                        Kind::Whole,
                        "blank: 6 (ATCP 65.68(3)(b), 1 NYCRR 3.27(b))",
                    ),
                ],
            },
            Group {
                table: "review",
                title: "Review",
                several: None,
                fields: &[
                    field("causes", "Causes that are offered", Kind::Words, "one per line"),
                    field("actions", "Actions that are offered", Kind::Words, "one per line"),
                    field(
                        "dispositions",
                        "Dispositions that are offered",
                        Kind::Words,
                        "one per line",
                    ),
                    field(
                        "same_person_may_approve",
                        "The reviewer may approve as well",
                        Kind::Switch,
                        "blank: somebody else approves",
                    ),
                    field(
                        "technician_ends_holds",
                        "A technician may end a hold",
                        Kind::Switch,
                        "blank: only a supervisor",
                    ),
                    field(
                        "release_after_approval",
                        "Release from hold only after the approval",
                        Kind::Switch,
                        "blank: also before it",
                    ),
                    field(
                        "corrective_action_in_parts",
                        "Corrective action in separate parts",
                        Kind::Switch,
                        "blank: in one field",
                    ),
                    field(
                        "within_working_days",
                        "Review within working days",
                        Kind::Whole,
                        "blank: 7 (21 CFR 117.165(a)(4)(i), not verified)",
                    ),
                    text("within_source", "Source of that", "who asks for it, and where"),
                ],
            },
        ],
    },
];
