//! The published sources behind the shipped notes, by row; each with how well it was seen.

/// How well a figure was seen in its source.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Mark {
    /// Read in the document itself, a mirror or a scan of it.
    Seen,
    /// Read in a page that reports it.
    Secondary,
    /// Reckoned from seen figures.
    Derived,
    /// Not confirmed against a source.
    Memory,
}

impl Mark {
    fn words(self) -> &'static str {
        match self {
            Mark::Seen => "",
            Mark::Secondary => " (from a secondary source)",
            Mark::Derived => " (reckoned from it)",
            Mark::Memory => " (from memory, not yet compared with the source)",
        }
    }
}

/// One row: its name in the trace, the source, the mark.
pub(super) struct Source {
    pub(super) row: &'static str,
    text: &'static str,
    pub(super) mark: Mark,
}

impl Source {
    /// As it stands at the foot of a note.
    pub(super) fn line(&self) -> String {
        format!("{}{}.", self.text, self.mark.words())
    }
}

/// The source of that row.
pub(super) fn of(row: &str) -> Option<&'static Source> {
    SOURCES.iter().find(|s| s.row == row)
}

use Mark::{Derived, Memory, Secondary, Seen};

const fn row(row: &'static str, text: &'static str, mark: Mark) -> Source {
    Source { row, text, mark }
}

const SOURCES: &[Source] = &[
    row("DIL-16", "NAVEDTRA 14209, US Navy training manual, page ph209175", Seen),
    row(
        "DIL-17",
        "NAVEDTRA 14209, page ph209175: developers 90 to 125 °F, fixers not much above 80 °F",
        Seen,
    ),
    row("DIL-18", "US Army subcourse SS0509, web page Ss050980011; T.O. 33B-1-1, p. 6-76", Seen),
    row("DIL-22", "T.O. 33B-1-1, web page 586", Seen),
    row("GHS-1", "NITE Japan, METI FY2007, hydroquinone", Seen),
    row(
        "GHS-2",
        "Hydroquinone, suppliers' summaries (msdssafe.com, resorcinol-quinoline.com)",
        Seen,
    ),
    row("GHS-4", "International Chemical Safety Card 1528, metol, 2004", Seen),
    row("GHS-5", "Metol, EU harmonised classification, CLP Annex VI", Memory),
    row("GHS-7", "1-phenyl-3-pyrazolidinone, EU harmonised classification, CLP Annex VI", Memory),
    row("GHS-8", "Acetic acid, GESTIS extract and a supplier's data sheet of 2019", Secondary),
    row("GHS-9", "Acetic acid, NITE Japan, MHLW FY2009", Seen),
    row("GHS-11", "Acetic acid by strength, CLP Annex VI specific limits", Memory),
    row("GHS-12", "International Chemical Safety Card 1200, sodium sulfite, 2009", Seen),
    row("GHS-13", "International Chemical Safety Card 1135, sodium carbonate, 2024", Seen),
    row("GHS-15", "Sodium hydroxide 50 %, a supplier's data sheet of 2013", Seen),
    row("GHS-16", "Sodium hydroxide by strength, CLP Annex VI", Memory),
    row("GHS-17", "Sodium thiosulfate, three suppliers' data sheets that disagree", Seen),
    row("GHS-18", "Ammonium thiosulfate, suppliers", Memory),
    row("GHS-19", "Potassium dichromate, a public data set; agrees with CLP Annex VI", Secondary),
    row("GHS-20", "S. Anchell, The Darkroom Cookbook, 3rd edition 2008, p. 171", Seen),
    row(
        "GHS-P",
        "United Nations, Globally Harmonised System, annex 3, precautionary statements P301+P330+P331, P304+P340, P305+P351+P338, P303+P361+P353, P333+P313",
        Memory,
    ),
    row(
        "OEL-1",
        "NIOSH and OSHA on hydroquinone (cdc.gov/niosh/idlh/123319, osha.gov CH_246890)",
        Seen,
    ),
    row("OEL-3", "NIOSH on acetic acid (cdc.gov/niosh/idlh/64197)", Seen),
    row("OEL-6", "NIOSH and OSHA on sulfur dioxide (cdc.gov/niosh/idlh/7446095)", Seen),
    row("OEL-7", "NIOSH on ammonia, in a page of the Minnesota Department of Agriculture", Seen),
    row("EYE-1", "29 CFR 1910.151(c), United States", Seen),
    row(
        "EYE-2",
        "WAC 296-800-15030, Washington: 0.4 gallons (1.5 l) a minute for 15 minutes",
        Seen,
    ),
    row("EYE-3", "WAC 296-800-15030, Washington: 20 gallons (75 l) a minute for 15 minutes", Seen),
    row("EYE-4", "WAC 296-800-15030, Washington; a summary of ANSI Z358.1", Seen),
    row("EYE-5", "WAC 296-800-15030, Washington", Seen),
    row("EYE-6", "A summary of ANSI Z358.1: 60 to 100 °F", Secondary),
    row("EYE-7", "A summary of ANSI Z358.1-1998", Secondary),
    row(
        "VENT-1",
        "Wisconsin DCOMM 32.27(9), in force 1991 to 1999; University of Wisconsin-Milwaukee, indoor air quality",
        Seen,
    ),
    row("VENT-2", "Wisconsin DCOMM 64.54(3)(b)", Seen),
    row("VENT-3", "30 cubic metres, twelve times an hour; Wisconsin DCOMM 32.27(9)", Derived),
    row("LAB-1", "29 CFR 1910.1200(f)(6), United States", Secondary),
    row("LAB-2", "29 CFR 1910.1200(f)(8), United States; OSHA letter of 11 July 1989", Secondary),
    row("LAB-3", "29 CFR 1910.1200(f)(8), read the other way about", Derived),
    row("PPE-1", "NAVEDTRA 14209, page ph209175; Oregon Metro, photographic chemicals", Seen),
    row("DISP-1", "40 CFR 261.24, table 1, United States: silver 5.0 mg/l, D011", Secondary),
    row("DISP-2", "40 CFR 261.24(a), United States: at the limit or above it", Seen),
    row("DISP-3", "40 CFR 261.24, table 1, United States: chromium 5.0 mg/l, D007", Seen),
    row("DISP-9", "40 CFR 403.5, United States", Seen),
    row("DISP-11", "City of Dallas, silver best management practice", Seen),
    row("DISP-12", "City of Dallas, silver limits of 0.36 and 3.04 mg/l by plant", Seen),
    row(
        "DISP-13",
        "Fort Collins, Colorado, silver reclamation: 100 ppm at the end of the process",
        Seen,
    ),
    row(
        "DISP-18",
        "European list of waste, chapter 09 01, three agreeing public lists; the law is Decision 2000/532/EC",
        Secondary,
    ),
    row("DISP-22", "University of Minnesota Duluth, Environmental Health and Safety", Seen),
    row("DISP-23", "Rutgers, Environmental Health and Safety policy", Seen),
    row("DISP-25", "Oregon Metro, photographic chemicals", Seen),
    row(
        "DISP-26",
        "3 to 10 g of silver a litre against 5 mg/l, from the silver in film and 20 rolls a litre",
        Derived,
    ),
];
