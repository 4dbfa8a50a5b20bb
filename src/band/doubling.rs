//! Players who play two instruments of the band, and so cannot play both at once.

use super::roster::{Band, PartId};

/// The two parts that share players, for every part whose remarks name a second instrument that
/// the band has: first the part of the second instrument, then the part with the remark.
///
/// The part of the second instrument is the one of the same rank (Clarinet 2 of an Alto Sax 2), or
/// else the last that the band has. A pair is named once, whichever of the two has the remark.
#[must_use]
pub fn shared_players(band: &Band) -> Vec<(PartId, PartId)> {
    let mut pairs: Vec<(PartId, PartId)> = Vec::new();
    for (id, part) in band.ids() {
        let Some(second) = &part.remarks.doubles else {
            continue;
        };
        let named = || {
            band.ids()
                .filter(|(other, p)| *other != id && p.instrument.id == second.id)
        };
        let same_rank = named().find(|(_, p)| p.rank == part.rank);
        let Some((other, _)) = same_rank.or_else(|| named().last()) else {
            continue;
        };
        if !pairs.contains(&(id, other)) {
            pairs.push((other, id));
        }
    }
    pairs
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::band::{find_instrument, read_band};

    fn band(ids: &[&str]) -> Band {
        let part = |(i, id): (usize, &&str)| {
            format!(
                "[[part]]\nname = \"P{i}\"\ninstrument = \"{id}\"\nplayers = {{ advanced = 1 }}\n"
            )
        };
        let parts: String = ids.iter().enumerate().map(part).collect();
        read_band(&format!("name = \"Some\"\n{parts}")).unwrap()
    }

    fn pairs(ids: &[&str], doubling: &[(usize, &str)]) -> Vec<(usize, usize)> {
        let mut band = band(ids);
        for (part, second) in doubling {
            band.parts[*part].remarks.doubles = find_instrument(second);
        }
        let found = shared_players(&band);
        found.into_iter().map(|(a, b)| (a.0, b.0)).collect()
    }

    #[test]
    fn the_same_rank_first_then_the_last() {
        let ids = [
            "piccolo", "flute", "flute", "sax_alto", "sax_alto", "sax_alto",
        ];
        assert_eq!(pairs(&ids, &[(0, "flute")]), [(1, 0)]);
        assert_eq!(pairs(&ids, &[(4, "flute"), (5, "flute")]), [(2, 4), (2, 5)]);
    }

    #[test]
    fn a_pair_is_named_once_and_never_with_itself() {
        let ids = ["piccolo", "flute"];
        assert_eq!(pairs(&ids, &[(0, "flute"), (1, "piccolo")]), [(1, 0)]);
        assert_eq!(pairs(&ids, &[(1, "flute"), (0, "tuba")]), []);
    }
}
