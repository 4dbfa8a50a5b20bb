//! Names of ports that can be told apart.

/// Names in their order; the second of the same name has a 2 behind it, and so on.
///
/// ```
/// use bandwright::sound::midi::told_apart;
/// let names = ["Piano", "Desk", "Piano"].map(str::to_owned);
/// assert_eq!(told_apart(&names), ["Piano", "Desk", "Piano (2)"]);
/// ```
#[must_use]
pub fn told_apart(names: &[String]) -> Vec<String> {
    let mut told: Vec<String> = Vec::new();
    for name in names {
        let mut next = name.clone();
        let mut number = 2;
        // Somebody may have called a port "Piano (2)": that name is left to it.
        while told.contains(&next) || (number > 2 && names.contains(&next)) {
            next = format!("{name} ({number})");
            number += 1;
        }
        told.push(next);
    }
    told
}
