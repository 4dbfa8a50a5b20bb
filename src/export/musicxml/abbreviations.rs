//! Short names of parts, as scores print them from the second page on. All from memory (MEM).

use crate::band::Part;

/// Short names by the instrument's word.
const SHORT: [(&str, &str); 37] = [
    ("piccolo", "Picc."),
    ("flute", "Fl."),
    ("oboe", "Ob."),
    ("bassoon", "Bsn."),
    ("clarinet_eb", "E\u{266d} Cl."),
    ("clarinet_bb", "Cl."),
    ("clarinet_alto", "A. Cl."),
    ("clarinet_bass", "B. Cl."),
    ("sax_soprano", "S. Sax."),
    ("sax_alto", "A. Sax."),
    ("sax_tenor", "T. Sax."),
    ("sax_baritone", "B. Sax."),
    ("cornet", "Cor."),
    ("trumpet", "Tpt."),
    ("flugelhorn", "Flghn."),
    ("horn", "Hn."),
    ("mellophone", "Mello."),
    ("trombone", "Tbn."),
    ("trombone_bass", "B. Tbn."),
    ("baritone_bc", "Bar."),
    ("baritone_tc", "Bar. T.C."),
    ("marching_baritone_bc", "Bar."),
    ("marching_baritone_tc", "Bar. T.C."),
    ("euphonium_bc", "Euph."),
    ("euphonium_tc", "Euph. T.C."),
    ("tuba", "Tuba"),
    ("sousaphone", "Sousa."),
    ("marching_contra", "Contra"),
    ("double_bass", "D.B."),
    ("electric_bass", "E.B."),
    ("timpani", "Timp."),
    ("glockenspiel", "Glock."),
    ("xylophone", "Xyl."),
    ("vibraphone", "Vib."),
    ("marimba", "Mrb."),
    ("chimes", "Chm."),
    ("synth", "Syn."),
];

/// The short name of a part: its instrument's, and the number at the end of its name. An instrument
/// without a short name keeps its name.
pub(super) fn abbreviation(part: &Part) -> String {
    let instrument = &part.instrument;
    let known = SHORT.iter().find(|(id, _)| *id == instrument.id);
    let short = known.map_or(instrument.name.as_str(), |(_, short)| short);
    let name = part.name.trim_end();
    let number = name.trim_end_matches(|c: char| c.is_ascii_digit()).len();
    match name.get(number..) {
        Some(digits) if !digits.is_empty() && number > 0 => format!("{short} {digits}"),
        _ => short.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::band::{instruments, preset};

    #[test]
    fn every_instrument_has_a_short_name() {
        for instrument in instruments().unwrap() {
            assert!(
                SHORT.iter().any(|(id, _)| *id == instrument.id),
                "{}",
                instrument.id
            );
        }
    }

    #[test]
    fn numbers_of_parts_are_kept() {
        let band = preset("demo").unwrap();
        let of = |name: &str| band.parts.iter().find(|p| p.name == name).map(abbreviation);
        assert_eq!(of("Clarinet 3").as_deref(), Some("Cl. 3"));
        assert_eq!(of("Sousaphone").as_deref(), Some("Sousa."));
    }
}
