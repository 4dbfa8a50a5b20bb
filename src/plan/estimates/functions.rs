//! How many things a band can do at once.

use crate::band::playing::{BandSize, band_size};
use crate::band::{Band, Choir, TableError};
use crate::plan::solve::PartRole;
use crate::score::Role;
use std::collections::BTreeSet;

/// How many lines some roles leave thin for the sake of a fifth: in a small band, tune, counterline, chords and
/// bass are each doubled across choirs before wind players are spared for a figure (common practice, no
/// source; what is small is a table of usual sizes). 0 in larger bands, and where no wind has a figure.
///
/// ```
/// use bandwright::band::preset;
/// use bandwright::plan::{PartRole, estimates::left_thin};
/// use bandwright::score::Role;
/// let band = preset("small-marching").unwrap();
/// let roles = |figure: &str| -> Vec<PartRole> {
///     let role = |id: &str| match id {
///         _ if id == figure => Role::Figure,
///         "trumpet" => Role::Melody,
///         "sousaphone" => Role::Bass,
///         _ => Role::Rest,
///     };
///     band.parts.iter().map(|p| PartRole { role: role(&p.instrument.id), octave: 0 }).collect()
/// };
/// assert_eq!(left_thin(&band, &roles("flute")).unwrap(), 2);
/// assert_eq!(left_thin(&band, &roles("nobody")).unwrap(), 0);
/// ```
///
/// # Errors
/// If the built-in table were unreadable (a test shows that it is not).
pub fn left_thin(band: &Band, roles: &[PartRole]) -> Result<usize, TableError> {
    let winds = band.parts.iter().filter(|p| p.instrument.wind);
    let small = band_size(winds.map(|p| p.players.count()).sum())? == BandSize::Small;
    let choirs = |role: Role| -> BTreeSet<Choir> {
        let parts = band.parts.iter().zip(roles);
        let on_it = parts.filter(|(p, r)| r.role == role && p.instrument.wind);
        on_it.map(|(p, _)| p.instrument.choir).collect()
    };
    if !small || choirs(Role::Figure).is_empty() {
        return Ok(0);
    }
    let four = [Role::Melody, Role::Counterline, Role::Harmony, Role::Bass];
    Ok(four.iter().filter(|role| choirs(**role).len() == 1).count())
}
