//! The cheapest places to breathe, exactly.

/// Sums of shares of a breath are exact to this.
const EXACT: f64 = 1e-9;

/// The cheapest places to breathe between notes, so that no stretch takes more than a breath: the indices of the
/// notes that a breath is taken before, in order. `air` is what each note takes, `costs` what a breath between
/// each two of them costs; of paths as cheap the one with the latest breaths. A note of more than a breath is a
/// stretch by itself.
///
/// ```
/// use bandwright::review::breath::least;
/// assert_eq!(least(&[0.4, 0.4, 0.4, 0.4], &[5, 1, 5]), [2]);
/// assert!(least(&[0.4, 0.4], &[5]).is_empty());
/// ```
#[must_use]
pub fn least(air: &[f64], costs: &[u32]) -> Vec<usize> {
    // best[j]: the least cost of the notes before j with a breath before j, and where the breath before that is.
    let mut best: Vec<(u64, usize)> = vec![(0, 0)];
    for j in 1..=air.len() {
        let own = match costs.get(j - 1) {
            Some(cost) if j < air.len() => u64::from(*cost),
            _ => 0,
        };
        let mut sum = 0.0;
        let mut choice: Option<(u64, usize)> = None;
        for i in (0..j).rev() {
            sum += air[i];
            if sum > 1.0 + EXACT && i + 1 < j {
                break;
            }
            if choice.is_none_or(|c| best[i].0 < c.0) {
                choice = Some((best[i].0, i));
            }
        }
        let (cost, from) = choice.unwrap_or((0, j - 1));
        best.push((cost + own, from));
    }
    let mut at = air.len();
    let mut places = Vec::new();
    while let Some((_, from)) = best.get(at).filter(|_| at > 0) {
        if *from > 0 {
            places.push(*from);
        }
        at = *from;
    }
    places.reverse();
    places
}
