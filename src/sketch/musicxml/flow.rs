//! Repeats, endings and jumps: the order in which measures are played.

use super::measure::Flow;
use std::collections::BTreeSet;

/// Most measures as played; what asks for more is no piece.
pub(super) const MOST_PLAYED: usize = 20_000;
/// How many endings of one repeat are looked at.
const MOST_ENDINGS: usize = 100;

/// One measure as played.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Turn {
    /// Which measure, from 0.
    pub(super) measure: usize,
    /// The how manieth time its repeat is played, from 1.
    pub(super) pass: u32,
}

/// Why an order cannot be made.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct NoOrder {
    /// The measure, from 0.
    pub(super) measure: usize,
    /// What is wrong and what to do.
    pub(super) reason: String,
}

/// The order in which measures are played.
///
/// Repeats without a number are played twice, or as often as their endings tell. After a jump (D.C.,
/// D.S.) repeats are not taken, where they do not say so themselves, and the last ending is played
/// (common practice; MusicXML 4.0, `after-jump`).
///
/// # Errors
/// Where a jump leads nowhere, or the order has more than [`MOST_PLAYED`] measures.
pub(super) fn playing_order(flows: &[Flow]) -> Result<Vec<Turn>, NoOrder> {
    let flows = &with_first_endings(flows);
    let mut walk = Walk {
        flows,
        at: 0,
        from: 0,
        pass: 1,
        jumped: false,
        jumps: BTreeSet::new(),
        order: Vec::with_capacity(flows.len()),
    };
    while let Some(flow) = flows.get(walk.at) {
        if walk.order.len() >= MOST_PLAYED {
            return Err(NoOrder {
                measure: walk.at,
                reason: format!(
                    "with all repeats the music has more than {MOST_PLAYED} measures; take repeats out and export again"
                ),
            });
        }
        if !walk.step(flow)? {
            break;
        }
    }
    Ok(walk.order)
}

/// The measures with the first endings that are only told where they stop: there the last measure of the repeat
/// is the ending.
fn with_first_endings(flows: &[Flow]) -> Vec<Flow> {
    let mut flows = flows.to_vec();
    let mut is_open = false;
    for at in 0..flows.len() {
        let next = flows.get(at + 1).and_then(|f| f.ending.clone());
        let Some(flow) = flows.get_mut(at) else {
            break;
        };
        is_open |= flow.ending.is_some();
        let untold = flow.ending_stops && flow.backward.is_some() && !is_open;
        if untold && next.is_some_and(|passes| !passes.is_empty() && !passes.contains(&1)) {
            flow.ending = Some(vec![1]);
        }
        is_open &= !flow.ending_stops;
    }
    flows
}

struct Walk<'f> {
    flows: &'f [Flow],
    /// The measure to play.
    at: usize,
    /// Where the repeat begins that is played.
    from: usize,
    /// The how manieth time.
    pass: u32,
    /// Whether a jump back was taken.
    jumped: bool,
    /// Measures whose jump was taken.
    jumps: BTreeSet<usize>,
    order: Vec<Turn>,
}

impl Walk<'_> {
    /// Plays a measure, or passes over an ending; false at the end.
    fn step(&mut self, flow: &Flow) -> Result<bool, NoOrder> {
        if flow.forward && self.from != self.at {
            self.begin(self.at);
        }
        if let Some(passes) = &flow.ending {
            let now = if self.jumped && self.pass == 1 {
                self.passes(self.at)
            } else {
                self.pass
            };
            if !passes.is_empty() && !passes.contains(&now) {
                self.at = self.ending_end(self.at) + 1;
                return Ok(true);
            }
        }
        let (measure, pass) = (self.at, self.pass);
        self.order.push(Turn { measure, pass });
        self.go_on(flow)
    }

    /// Where to after a measure.
    fn go_on(&mut self, flow: &Flow) -> Result<bool, NoOrder> {
        if self.jumped {
            if flow.fine {
                return Ok(false);
            }
            if let Some(label) = &flow.tocoda
                && self.jumps.insert(self.at)
            {
                let coda = self.coda(label)?;
                self.at = coda;
                self.begin(coda);
                return Ok(true);
            }
        }
        if let Some(times) = flow.backward {
            let endings = self.passes(self.at);
            let all = times.map_or(endings.max(2), |t| t.max(endings));
            if (!self.jumped || flow.after_jump) && self.pass < all {
                self.pass += 1;
                self.at = self.from;
                return Ok(true);
            }
        }
        let next = self.flows.get(self.at + 1);
        // Where an ending follows that is none of a new repeat, it is of this one.
        let ends_on = flow.backward.is_some() && next.is_some_and(|n| n.ending.is_some());
        let over = flow.ending.is_some() && self.ending_end(self.at) == self.at;
        if (flow.backward.is_some() || flow.ending_stops || over) && !ends_on {
            self.begin(self.at + 1);
        }
        let target = if flow.dacapo {
            Some(0)
        } else {
            let label = flow.dalsegno.as_ref();
            label.map(|label| self.segno(label)).transpose()?
        };
        match target {
            Some(target) if self.jumps.insert(self.at) => {
                self.jumped = true;
                self.at = target;
                self.begin(target);
            }
            _ => self.at += 1,
        }
        Ok(true)
    }

    /// A repeat may begin at a measure.
    fn begin(&mut self, at: usize) {
        self.from = at;
        self.pass = 1;
    }

    /// The last measure of the ending that begins with a measure.
    fn ending_end(&self, start: usize) -> usize {
        let rest = self.flows.get(start..).unwrap_or_default();
        let last = rest.iter().enumerate().find_map(|(i, f)| {
            if i > 0 && f.ending.is_some() {
                Some(i - 1)
            } else if f.ending_stops || f.backward.is_some() {
                Some(i)
            } else {
                None
            }
        });
        start + last.unwrap_or(0)
    }

    /// How many passes the endings tell of that belong to the repeat that is played; 1 without any.
    /// `until` is a measure of it.
    fn passes(&self, until: usize) -> u32 {
        let mut most = 1;
        let mut at = self.from;
        let mut endings = 0;
        while let Some(flow) = self.flows.get(at) {
            if let Some(passes) = &flow.ending {
                most = passes.iter().copied().fold(most, u32::max);
                endings += 1;
                at = self.ending_end(at);
            } else if at > until {
                break;
            }
            if endings > MOST_ENDINGS {
                break;
            }
            at += 1;
        }
        most
    }

    fn segno(&self, label: &str) -> Result<usize, NoOrder> {
        let of = |wanted: &dyn Fn(&String) -> bool| {
            self.flows.iter().position(|f| f.segno.iter().any(wanted))
        };
        of(&|l| l == label).or_else(|| of(&|_| true)).ok_or_else(|| NoOrder {
            measure: self.at,
            reason: "the music is to go back to a segno, but there is none; put the sign in, or take the jump out, and \
                     export again"
                .to_owned(),
        })
    }

    /// The coda of a label; else the last sign after this measure.
    fn coda(&self, label: &str) -> Result<usize, NoOrder> {
        let after = self.at + 1;
        let rest = self.flows.get(after..).unwrap_or_default();
        let labelled = rest
            .iter()
            .position(|f| f.coda.iter().any(|l| l == label && !l.is_empty()));
        let any = || rest.iter().rposition(|f| !f.coda.is_empty());
        labelled.or_else(any).map(|i| after + i).ok_or_else(|| NoOrder {
            measure: self.at,
            reason: "the music is to go to a coda, but there is none after it; put the sign in, or take the jump out, and \
                     export again"
                .to_owned(),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn order(flows: &[Flow]) -> String {
        let turns = playing_order(flows).unwrap();
        turns
            .iter()
            .map(|t| char::from(b'A' + t.measure as u8))
            .collect()
    }

    fn score(count: usize, set: impl Fn(&mut [Flow])) -> Vec<Flow> {
        let mut flows = vec![Flow::default(); count];
        set(&mut flows);
        flows
    }

    #[test]
    fn repeats_are_played_twice_or_as_told() {
        assert_eq!(order(&score(3, |_| ())), "ABC");
        assert_eq!(order(&score(3, |f| f[1].backward = Some(None))), "ABABC");
        let inner = score(4, |f| {
            f[1].forward = true;
            f[2].backward = Some(Some(3));
        });
        assert_eq!(order(&inner), "ABCBCBCD");
        let two = score(4, |f| {
            f[1].backward = Some(None);
            f[3].backward = Some(None);
        });
        assert_eq!(order(&two), "ABABCDCD");
        let once = score(2, |f| f[1].backward = Some(Some(1)));
        assert_eq!(order(&once), "AB");
    }

    #[test]
    fn endings_belong_to_their_passes() {
        let usual = score(5, |f| {
            f[0].forward = true;
            f[2].ending = Some(vec![1]);
            f[2].backward = Some(None);
            f[3].ending = Some(vec![2]);
            f[3].ending_stops = true;
        });
        assert_eq!(order(&usual), "ABCABDE");
        let three = score(4, |f| {
            f[1].ending = Some(vec![1, 2]);
            f[1].ending_stops = true;
            f[1].backward = Some(None);
            f[2].ending = Some(vec![3]);
            f[2].ending_stops = true;
        });
        assert_eq!(order(&three), "ABABACD");
    }

    #[test]
    fn a_first_ending_may_only_be_told_where_it_stops() {
        let half_told = score(4, |f| {
            f[1].ending_stops = true;
            f[1].backward = Some(None);
            f[2].ending = Some(vec![2]);
            f[2].ending_stops = true;
        });
        assert_eq!(order(&half_told), "ABACD");
        let untold = score(4, |f| {
            f[1].backward = Some(None);
            f[2].ending = Some(vec![2]);
            f[2].ending_stops = true;
        });
        assert_eq!(order(&untold), "ABABCD");
    }

    #[test]
    fn jumps_are_taken_once_and_without_repeats() {
        let da_capo = score(4, |f| {
            f[0].backward = Some(None);
            f[1].fine = true;
            f[3].dacapo = true;
        });
        assert_eq!(order(&da_capo), "AABCDAB");
        let dal_segno = score(6, |f| {
            f[1].segno.push("s".to_owned());
            f[2].tocoda = Some("c".to_owned());
            f[4].dalsegno = Some("s".to_owned());
            f[5].coda.push("c".to_owned());
        });
        assert_eq!(order(&dal_segno), "ABCDEBCF");
        let last_ending = score(5, |f| {
            f[1].ending = Some(vec![1]);
            f[1].backward = Some(None);
            f[2].ending = Some(vec![2]);
            f[2].ending_stops = true;
            f[4].dacapo = true;
        });
        assert_eq!(order(&last_ending), "ABACDEACDE");
    }

    #[test]
    fn what_leads_nowhere_or_never_ends_is_refused() {
        let nowhere = score(2, |f| f[1].dalsegno = Some("s".to_owned()));
        assert_eq!(playing_order(&nowhere).unwrap_err().measure, 1);
        let coda = score(2, |f| {
            f[0].tocoda = Some("c".to_owned());
            f[1].dacapo = true;
        });
        assert!(playing_order(&coda).unwrap_err().reason.contains("coda"));
        let endless = score(2, |f| f[1].backward = Some(Some(1_000_000)));
        assert!(playing_order(&endless).is_err());
    }
}
