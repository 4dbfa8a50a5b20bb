//! What a way of scoring does, in the words of the trade, built from its roles.

use super::solve::PartRole;
use crate::band::{Band, Choir, Family, PartId};
use crate::score::Role;

/// So many groups of parts are named on one line.
const MOST_NAMED: usize = 4;

/// What a way does: who has the tune and in which octave, who the counterline, what fills the chord, who rests.
/// `tune in Clarinet 1 and Alto Sax 1, flutes an octave above; brass rests`.
#[must_use]
pub fn doing(band: &Band, roles: &[PartRole]) -> String {
    let of = |want: &dyn Fn(&PartRole) -> bool| -> Vec<usize> {
        let all = roles.iter().take(band.parts.len()).enumerate();
        all.filter(|(_, r)| want(r)).map(|(i, _)| i).collect()
    };
    let mut said = vec![tune(band, roles)];
    let second = of(&|r| r.role == Role::Counterline);
    if !second.is_empty() {
        said.push(format!("counterline in {}", listed(band, &second)));
    }
    said.extend(rests(band, roles));
    said.join("; ")
}

fn tune(band: &Band, roles: &[PartRole]) -> String {
    let mut octaves: Vec<i16> = roles
        .iter()
        .filter(|r| r.role == Role::Melody)
        .map(|r| r.octave)
        .collect();
    // At the sketch's octave first, then upwards, then downwards.
    octaves.sort_by_key(|o| (*o != 0, *o < 0, o.abs()));
    octaves.dedup();
    if octaves.is_empty() {
        return "no tune".to_owned();
    }
    let at = |octave: i16| {
        let on = |r: &PartRole| r.role == Role::Melody && r.octave == octave;
        let parts: Vec<usize> = (0..roles.len()).filter(|i| on(&roles[*i])).collect();
        match octave_words(octave) {
            None => listed(band, &parts),
            Some(words) => format!("{} {words}", listed(band, &parts)),
        }
    };
    let all: Vec<String> = octaves.into_iter().map(at).collect();
    format!("tune in {}", all.join(", "))
}

fn octave_words(octave: i16) -> Option<String> {
    let far = match octave.unsigned_abs() {
        0 => return None,
        1 => "an octave".to_owned(),
        2 => "two octaves".to_owned(),
        n => format!("{n} octaves"),
    };
    let side = if octave > 0 { "above" } else { "below" };
    Some(format!("{far} {side}"))
}

/// Who rests, by families and choirs; where that would be many words, who fills the chord alone.
fn rests(band: &Band, roles: &[PartRole]) -> Option<String> {
    let is = |role| -> Vec<usize> {
        let parts = (0..band.parts.len()).filter(|i| band.parts[*i].instrument.wind);
        parts.filter(|i| roles[*i].role == role).collect()
    };
    let mut left = is(Role::Rest);
    let mut said: Vec<String> = Vec::new();
    for (family, word) in [(Family::Woodwind, "woodwinds"), (Family::Brass, "brass")] {
        let parts = band.parts.iter().enumerate();
        let all: Vec<usize> = parts
            .filter(|(_, p)| p.instrument.family == family)
            .map(|(i, _)| i)
            .collect();
        if all.len() > 1 && all.iter().all(|p| left.contains(p)) {
            left.retain(|p| !all.contains(p));
            said.push(word.to_owned());
        }
    }
    said.extend(groups(band, &left));
    let chord = groups(band, &is(Role::Harmony));
    match said.as_slice() {
        [] => None,
        [one] if one == "brass" => Some("brass rests".to_owned()),
        some if some.len() <= MOST_NAMED => Some(format!("{} rest", joined(some))),
        _ if chord.is_empty() => Some("no chords".to_owned()),
        _ if chord.len() <= MOST_NAMED => Some(format!("chords in {} alone", joined(&chord))),
        _ => Some("many rest".to_owned()),
    }
}

/// Parts as they are named together: `Clarinet 1 and Alto Sax 1`.
#[must_use]
pub fn listed(band: &Band, parts: &[usize]) -> String {
    let groups = groups(band, parts);
    if groups.len() > 2 * MOST_NAMED {
        let some = &groups[..2 * MOST_NAMED - 1];
        return format!("{} and {} more", some.join(", "), groups.len() - some.len());
    }
    joined(&groups)
}

fn joined(words: &[String]) -> String {
    match words {
        [] => String::new(),
        [one] => one.clone(),
        [some @ .., last] => format!("{} and {last}", some.join(", ")),
    }
}

/// Whole choirs by their name where several parts make them; other parts by their own.
fn groups(band: &Band, parts: &[usize]) -> Vec<String> {
    let mut said = Vec::new();
    let mut done: Vec<Choir> = Vec::new();
    for part in parts {
        let choir = band.parts[*part].instrument.choir;
        if done.contains(&choir) {
            continue;
        }
        let all = band.parts.iter().enumerate();
        let of: Vec<usize> = all
            .filter(|(_, p)| p.instrument.choir == choir && p.instrument.wind)
            .map(|(i, _)| i)
            .collect();
        if of.len() > 1 && of.iter().all(|p| parts.contains(p)) {
            done.push(choir);
            said.push(choir_words(band, &of, choir));
        } else {
            said.push(band.parts[*part].name.clone());
        }
    }
    said
}

/// The choirs of a band by their names, each with its parts in score order.
#[must_use]
pub fn named_choirs(band: &Band) -> Vec<(String, Vec<PartId>)> {
    let name = |(choir, parts): (Choir, Vec<PartId>)| {
        let indices: Vec<usize> = parts.iter().map(|p| p.0).collect();
        (choir_words(band, &indices, choir), parts)
    };
    band.choirs().into_iter().map(name).collect()
}

/// A whole choir, by the indices of its parts: horns and euphoniums by what this band has of them.
fn choir_words(band: &Band, parts: &[usize], choir: Choir) -> String {
    let is = |id: &str| parts.iter().all(|p| band.parts[*p].instrument.id == id);
    let word = match choir {
        Choir::Flutes => "flutes",
        Choir::Clarinets => "clarinets",
        Choir::Saxophones => "saxophones",
        Choir::LowReeds => "low reeds",
        Choir::Trumpets => "trumpets",
        Choir::Horns if is("mellophone") => "mellophones",
        Choir::Horns => "horns",
        Choir::Trombones => "trombones",
        Choir::Euphoniums if is("marching_baritone_bc") => "baritones",
        Choir::Euphoniums => "euphoniums",
        Choir::Basses => "basses",
        Choir::Mallets => "mallets",
    };
    word.to_owned()
}

/// What one way does that another does not, role by role: `clarinets to the tune; trombones to the chord`.
#[must_use]
pub fn changes(band: &Band, from: &[PartRole], to: &[PartRole]) -> String {
    let mut kinds: Vec<PartRole> = Vec::new();
    let pairs = || from.iter().zip(to).take(band.parts.len()).enumerate();
    for (_, (a, b)) in pairs() {
        if a != b && !kinds.contains(b) {
            kinds.push(*b);
        }
    }
    kinds.sort_by_key(|r| (r.role, r.octave));
    let said = kinds.into_iter().map(|kind| {
        let parts = pairs().filter(|(_, (a, b))| a != b && **b == kind);
        let parts: Vec<usize> = parts.map(|(i, _)| i).collect();
        let octave = octave_words(kind.octave).filter(|_| kind.role == Role::Melody);
        let what = match (kind.role, octave) {
            (Role::Melody, Some(octave)) => format!("to the tune, {octave}"),
            (Role::Melody, None) => "to the tune".to_owned(),
            (Role::Counterline, _) => "to the counterline".to_owned(),
            (Role::Harmony, _) => "to the chord".to_owned(),
            (Role::Bass, _) => "to the bass".to_owned(),
            (Role::Figure, _) => "to the figure".to_owned(),
            (Role::Rest, _) => "rest".to_owned(),
        };
        format!("{} {what}", listed(band, &parts))
    });
    said.collect::<Vec<String>>().join("; ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::band::preset;

    fn roles(band: &Band, of: &dyn Fn(&str) -> (Role, i16)) -> Vec<PartRole> {
        let role = |name: &str| {
            let (role, octave) = of(name);
            PartRole { role, octave }
        };
        band.parts.iter().map(|p| role(&p.name)).collect()
    }

    #[test]
    fn a_way_is_told_by_its_roles() {
        let band = preset("demo").unwrap();
        let way = roles(&band, &|name| match name {
            "Clarinet 1" | "Alto Sax 1" => (Role::Melody, 0),
            "Flute 1" | "Flute 2" => (Role::Melody, 1),
            n if n.starts_with("Clarinet") || n.contains("Sax") => (Role::Harmony, 0),
            _ => (Role::Rest, 0),
        });
        let said = doing(&band, &way);
        assert_eq!(
            said,
            "tune in Clarinet 1 and Alto Sax 1, flutes an octave above; brass rests"
        );
    }

    #[test]
    fn changes_are_told_role_by_role() {
        let band = preset("demo").unwrap();
        let from = roles(&band, &|_| (Role::Rest, 0));
        let to = roles(&band, &|name| match name {
            n if n.starts_with("Trombone") => (Role::Harmony, 0),
            "Trumpet 1" => (Role::Melody, 0),
            _ => (Role::Rest, 0),
        });
        assert_eq!(
            changes(&band, &from, &to),
            "Trumpet 1 to the tune; trombones to the chord"
        );
    }
}
