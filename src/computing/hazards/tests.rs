use proptest::prelude::*;

use super::*;

fn codes(text: &str) -> Vec<Code> {
    read_codes(text).unwrap()
}

#[test]
fn codes_are_read_as_people_type_them() {
    let read = |t: &str| Code::read(t).map(|c| c.code().to_owned());
    assert_eq!(read("h314").unwrap(), "H314");
    assert_eq!(read(" H 302 + h312 ").unwrap(), "H302+H312");
    assert_eq!(read("euh031").unwrap(), "EUH031");
    assert_eq!(read("H360fd").unwrap_err().matches("H360F").count(), 2);
    assert!(read("H999").unwrap_err().contains("“H999”"));
    assert_eq!(written(&codes("P280, H318; EUH031\nH318")), "H318, EUH031, P280");
    assert_eq!(written(&codes("H302 + H312 P301 + P330 + P331")), "H302+H312, P301+P330+P331");
}

#[test]
fn codes_in_a_text_are_found_and_told() {
    let text = "Danger. H318, H317; P280. Read its data sheet.";
    assert_eq!(written(&codes_in(text)), "H317, H318, P280");
    let said = told("Danger. H318, EUH031. Keep shut.");
    assert_eq!(
        said,
        "Danger. Causes serious eye damage. (H318) Contact with acids liberates toxic gas. \
         (EUH031) Keep shut."
    );
    assert_eq!(told("May irritate skin."), "May irritate skin.");
}

#[test]
fn concentrate_and_working_strength_are_told_apart() {
    let lines = |signal, typed, words: &str| Lines {
        signal: Some(signal),
        codes: codes(typed),
        words: words.to_owned(),
    };
    let acid = lines(SignalWord::Danger, "H314", "Keep it shut.");
    let weak = lines(SignalWord::Warning, "H319 EUH031", "");
    let sheet = Sheet { concentrate: acid.clone(), working: weak };
    assert_eq!(
        sheet.told(Strength::Concentrate),
        "Danger. Causes severe skin burns and eye damage. (H314) Keep it shut."
    );
    assert!(sheet.told(Strength::Working).starts_with("Warning. Causes serious eye irritation."));
    assert!(sheet.told_both().contains("At working strength: Warning."));
    assert!(sheet.calls_for_eyewash() && !Sheet::default().calls_for_eyewash());
    // Where the working strength was not typed in, the graver lines stand, and say whose they are.
    let half = Sheet { concentrate: acid, working: Lines::default() };
    assert!(half.told(Strength::Working).starts_with("As bought: Danger."));
    assert_eq!(Sheet::default().told(Strength::Working), "");
}

#[test]
fn what_cannot_be_right_on_a_sheet_is_named() {
    let wrong =
        Lines { signal: Some(SignalWord::Warning), codes: codes("H314"), ..Lines::default() };
    assert!(wrong.fault().unwrap().contains("Danger"));
    assert!(fault_in("Danger. H31").is_none() && fault_in("H999").unwrap().contains("H999"));
    assert_eq!(fault_in("Irritates eyes. Harmless once diluted."), None);
}

#[test]
fn every_code_stands_once_and_says_something() {
    let mut seen: Vec<&str> = Code::all().map(|c| c.code()).collect();
    let count = seen.len();
    assert!(count > 200);
    seen.sort_unstable();
    seen.dedup();
    assert_eq!(seen.len(), count);
    for code in Code::all() {
        assert!(code.text().len() > 9, "{code:?}");
        assert!(code.text().ends_with(['.', '…', ':']), "{code:?}");
        for part in code.code().split('+') {
            assert!(Code::read(part).is_ok(), "{code:?} joins a code that is not listed");
        }
    }
}

#[test]
fn the_wording_is_that_of_the_published_substances() {
    // GHS-12: the words ICSC 1200 prints for sodium sulfite, without codes.
    assert_eq!(Code::read("H302").unwrap().text(), "Harmful if swallowed.");
    assert!(Code::read("H334").unwrap().text().starts_with("May cause allergy or asthma symptoms"));
    assert_eq!(Code::read("H317").unwrap().text(), "May cause an allergic skin reaction.");
    // GHS-13: ICSC 1135 for sodium carbonate.
    assert_eq!(Code::read("H319").unwrap().text(), "Causes serious eye irritation.");
}

#[test]
fn burns_and_eye_damage_call_for_an_eyewash() {
    // GHS-1: hydroquinone H318. GHS-8: glacial acetic acid H314. GHS-13: carbonate H319 only.
    assert!(calls_for_eyewash(&codes("H302, H318")));
    assert!(calls_for_eyewash(&codes("H226 H290 H314")));
    assert!(!calls_for_eyewash(&codes("H319 H315 H302")));
}

#[test]
fn a_signal_word_that_cannot_be_right_is_named() {
    // GHS-8: a public extract prints "Warning" beside H314, which does not fit.
    let acid = codes("H226, H290, H314");
    assert!(signal_fault(Some(SignalWord::Warning), &acid).unwrap().contains("H314"));
    assert_eq!(signal_fault(Some(SignalWord::Danger), &acid), None);
    // GHS-13: sodium carbonate, Warning, H319.
    assert_eq!(signal_fault(Some(SignalWord::Warning), &codes("H319")), None);
    assert!(signal_fault(None, &codes("H319")).is_some());
    assert_eq!(signal_fault(None, &codes("H412, EUH031")), None);
}

#[test]
fn a_label_line_begins_with_its_signal_word() {
    let lines = Lines {
        signal: Some(SignalWord::Danger),
        codes: codes("P280 H318 EUH031"),
        words: "From its sheet: H317".to_owned(),
    };
    let said = lines.told();
    assert!(said.starts_with("Danger. Causes serious eye damage. (H318) Contact with acids"));
    assert!(
        said.ends_with("From its sheet: May cause an allergic skin reaction. (H317)"),
        "{said}"
    );
    assert_eq!(lines.precautions().len(), 1);
    assert_eq!(lines.hazards()[0], "Causes serious eye damage. (H318)");
    assert_eq!(lines.symbols(), "corrosive, harmful or irritating");
}

#[test]
fn symbols_in_plain_words_the_graver_before_the_lesser() {
    let words = |t: &str| symbols(&codes(t)).into_iter().map(Symbol::words).collect::<Vec<_>>();
    assert_eq!(words("H301 H315 H410"), ["poison", "harms life in water"]);
    assert_eq!(words("H318, H302, P280"), ["corrosive", "harmful or irritating"]);
}

#[test]
fn dichromate_and_glacial_acid_are_known_by_name_number_and_strength() {
    for text in ["Potassium Dichromate", "bleach (CAS 7778-50-9)", "ammonium bichromate"] {
        assert_eq!(barred_in(text), Some(Barred::Dichromate), "{text}");
    }
    // GHS-10: UN 2789 above 80 %, UN 2790 from 10 to 80 %.
    for text in ["Glacial acid", "Acetic acid 99.5 %", "acetic acid, 81%"] {
        assert_eq!(barred_in(text), Some(Barred::GlacialAceticAcid), "{text}");
    }
    for text in ["Acetic acid 28 %", "acetic acid 80 %", "Stop bath", "100 % citric", "chrome alum"]
    {
        assert_eq!(barred_in(text), None, "{text}");
    }
}

proptest! {
    #[test]
    fn nothing_typed_makes_it_panic(text in "\\PC{0,200}") {
        let _ = (read_codes(&text), barred_in(&text), codes_in(&text), told(&text));
        let _ = fault_in(&text);
    }

    #[test]
    fn what_is_written_reads_back(picks in proptest::collection::vec(0usize..280, 0..12)) {
        let mut wanted: Vec<Code> =
            picks.iter().filter_map(|n| Code::all().nth(*n)).collect();
        wanted.sort_unstable();
        wanted.dedup();
        prop_assert_eq!(codes(&written(&wanted)), wanted);
    }
}
