//! A stretch written out as a cost function network, for solvers that share no code with ours.
//!
//! The form is the open JSON one for cost function networks (CFN): variables with named values, and
//! tables of costs over some of them, to be added up. Costs are thousandths of a point. Every part
//! has a variable for each step. A choir of several parts has one more, its state, tied to those of
//! its parts by tables that allow only what belongs together. Choirs meet in sums: of each mark of a
//! step, what each choir adds is a variable, and so is every sum on the way to the last, which bears
//! the mark's cost. So the network is the very model that is solved, term by term.

use super::candidates::Choice;
use super::chain::split;
use super::stretch::{ChoirChain, ChoirStage, Stretch};
use super::terms::{FORBIDDEN, Milli};
use std::collections::BTreeSet;
use std::fmt::Write as _;

/// States before and now of no more pairs than this are tied by one table; more are tied part by
/// part.
const MOST_PAIRS: usize = 60_000;

/// Writes a stretch as a network. `parts` are the names of the band's parts in order, `steps` those
/// of the stretch's steps; what is not a letter, digit or point becomes `_`.
#[must_use]
pub fn network(stretch: &Stretch, title: &str, parts: &[String], steps: &[String]) -> String {
    let mut out = Writer::default();
    let nodes: Vec<Vec<Node>> = stretch
        .choirs
        .iter()
        .enumerate()
        .map(|(c, choir)| out.choir(c, choir, parts, steps))
        .collect();
    for s in 0..stretch.len() {
        for mark in 0..stretch.coverage[s].len() {
            out.mark(stretch, &nodes, s, mark);
        }
    }
    out.finish(title)
}

/// A name of letters, digits and points.
fn word(text: &str) -> String {
    let keep = |c: char| {
        if c.is_ascii_alphanumeric() || c == '.' {
            c
        } else {
            '_'
        }
    };
    text.chars().map(keep).collect()
}

/// A choir at a step, as written.
struct Node {
    /// The variables of its parts.
    parts: Vec<String>,
    /// The variable of its state: that of its only part, or one of its own.
    state: String,
    /// The states that are values of it, in order.
    states: Vec<usize>,
}

impl Node {
    fn write(out: &mut Writer, stage: &ChoirStage, parts: Vec<String>, name: String) -> Self {
        for (part, choices) in parts.iter().zip(&stage.choices) {
            out.variable(part, &values(choices));
        }
        let joint = &stage.stage.joint;
        let Some(only) = parts.first().filter(|_| parts.len() == 1) else {
            // States that are forbidden are no values, but for a first one: no domain is empty.
            let mut states: Vec<usize> =
                (0..joint.len()).filter(|s| joint[*s] < FORBIDDEN).collect();
            if states.is_empty() {
                states.push(0);
            }
            let named: Vec<String> = states.iter().map(|s| format!("s{s}")).collect();
            out.variable(&name, &named);
            out.table(&[&name], states.iter().map(|s| joint[*s]));
            for (p, part) in parts.iter().enumerate() {
                let rows = states.iter().enumerate();
                let rows = rows.map(|(i, s)| vec![i, split(*s, &stage.stage.sizes)[p]]);
                out.only(&[&name, part], rows);
            }
            return Self {
                parts,
                state: name,
                states,
            };
        };
        out.table(&[only], joint.iter().copied());
        Self {
            state: only.clone(),
            states: (0..joint.len()).collect(),
            parts,
        }
    }
}

/// Names for what a part could do, each once.
fn values(choices: &[Choice]) -> Vec<String> {
    let mut taken = BTreeSet::new();
    let name = |choice: &Choice| {
        let plain = match (choice.sounds, choice.leave) {
            (Some(pitch), _) => pitch.to_string(),
            (None, Some(last)) => format!("rest_after_{last}"),
            (None, None) => "rest".to_owned(),
        };
        if choice.fixed {
            format!("fixed_{plain}")
        } else {
            plain
        }
    };
    let mut once = |choice: &Choice| {
        let plain = name(choice);
        let mut own = plain.clone();
        let mut more = 1;
        while !taken.insert(own.clone()) {
            more += 1;
            own = format!("{plain}_{more}");
        }
        own
    };
    choices.iter().map(&mut once).collect()
}

/// The network as far as it is written.
#[derive(Default)]
struct Writer {
    variables: String,
    functions: String,
    count: usize,
}

impl Writer {
    fn variable(&mut self, name: &str, values: &[String]) {
        let comma = if self.variables.is_empty() { "" } else { ",\n" };
        let values: Vec<String> = values.iter().map(|v| format!("\"{v}\"")).collect();
        // Writing to a string cannot fail.
        let _ = write!(self.variables, "{comma}\"{name}\": [{}]", values.join(","));
    }

    fn function(&mut self, scope: &[&str], default: Option<Milli>, costs: &str) {
        let comma = if self.functions.is_empty() { "" } else { ",\n" };
        let scope: Vec<String> = scope.iter().map(|v| format!("\"{v}\"")).collect();
        let default = default.map_or(String::new(), |d| format!("\"defaultcost\": {d}, "));
        let _ = write!(
            self.functions,
            "{comma}\"f{}\": {{\"scope\": [{}], {default}\"costs\": [{costs}]}}",
            self.count,
            scope.join(",")
        );
        self.count += 1;
    }

    /// A cost for every tuple of values, the last variable's running fastest. A table of nothing is
    /// left out.
    fn table(&mut self, scope: &[&str], costs: impl Iterator<Item = Milli> + Clone) {
        if costs.clone().all(|c| c == 0) {
            return;
        }
        let mut text = String::new();
        for (i, cost) in costs.enumerate() {
            let comma = if i == 0 { "" } else { "," };
            let _ = write!(text, "{comma}{cost}");
        }
        self.function(scope, None, &text);
    }

    /// Only these tuples (places of values) are allowed.
    fn only(&mut self, scope: &[&str], tuples: impl Iterator<Item = Vec<usize>>) {
        let mut text = String::new();
        for (i, tuple) in tuples.enumerate() {
            let comma = if i == 0 { "" } else { "," };
            let _ = write!(text, "{comma}");
            for place in tuple {
                let _ = write!(text, "{place},");
            }
            let _ = write!(text, "0");
        }
        self.function(scope, Some(FORBIDDEN), &text);
    }

    /// The way into the first step.
    fn lead(&mut self, choir: &ChoirChain, first: &Node) {
        let cost = |s: &usize| choir.lead.get(*s).copied().unwrap_or(0);
        self.table(&[&first.state], first.states.iter().map(cost));
    }

    fn moves(&mut self, a: &Node, before: &ChoirStage, b: &Node, now: &ChoirStage) {
        let (was, stage) = (&before.stage, &now.stage);
        let together = !stage.together.is_empty();
        if together || a.states.len() * b.states.len() <= MOST_PAIRS {
            let to: Vec<_> = b
                .states
                .iter()
                .map(|j| (*j, split(*j, &stage.sizes)))
                .collect();
            let costs = a.states.iter().flat_map(|i| {
                let from = split(*i, &was.sizes);
                to.iter()
                    .map(move |(j, to)| super::chain::way_between(stage, (*i, &from), (*j, to)))
                    .collect::<Vec<_>>()
            });
            return self.table(&[&a.state, &b.state], costs);
        }
        for ((from, to), moves) in a.parts.iter().zip(&b.parts).zip(&stage.moves) {
            self.table(&[from, to], moves.iter().copied());
        }
    }

    /// One choir: its variables, what its states cost, and its moves.
    fn choir(
        &mut self,
        c: usize,
        choir: &ChoirChain,
        parts: &[String],
        steps: &[String],
    ) -> Vec<Node> {
        let mut nodes: Vec<Node> = Vec::with_capacity(choir.stages.len());
        for (s, stage) in choir.stages.iter().enumerate() {
            let at = steps.get(s).map_or_else(String::new, |at| word(at));
            let names = choir.parts.iter().map(|id| {
                let own = parts.get(id.0).map_or_else(String::new, |own| word(own));
                format!("p{}_{own}_s{s}_{at}", id.0)
            });
            let node = Node::write(self, stage, names.collect(), format!("c{c}_s{s}"));
            match nodes.last().zip(s.checked_sub(1)) {
                None => self.lead(choir, &node),
                Some((before, was)) => self.moves(before, &choir.stages[was], &node, stage),
            }
            nodes.push(node);
        }
        nodes
    }

    /// What choirs share in one mark of a step.
    fn mark(&mut self, stretch: &Stretch, nodes: &[Vec<Node>], s: usize, mark: usize) {
        let mut so_far: Option<(String, Vec<u16>)> = None;
        for (c, (choir, nodes)) in stretch.choirs.iter().zip(nodes).enumerate() {
            let name = format!("m{mark}_s{s}_c{c}");
            let Some(adds) = self.adds(&nodes[s], &choir.stages[s], mark, &name) else {
                continue;
            };
            so_far = Some(match so_far.take() {
                None => (name, adds),
                Some(before) => self.sum(&before, (&name, &adds)),
            });
        }
        let table = stretch.coverage[s].table(mark);
        let cost = |sum: &u16| table.get(usize::from(*sum)).copied().unwrap_or(0);
        match so_far {
            Some((name, sums)) => self.table(&[&name], sums.iter().map(cost)),
            None => self.table(&[], std::iter::once(cost(&0))),
        }
    }

    /// The variable of what a choir adds to a mark; `None` where it is always nothing.
    fn adds(
        &mut self,
        node: &Node,
        stage: &ChoirStage,
        mark: usize,
        name: &str,
    ) -> Option<Vec<u16>> {
        let of: Vec<u16> = node.states.iter().map(|s| stage.adds(*s)[mark]).collect();
        let all: BTreeSet<u16> = of.iter().copied().collect();
        if all.iter().all(|n| *n == 0) {
            return None;
        }
        let all: Vec<u16> = all.into_iter().collect();
        self.variable(name, &numbers(&all));
        let place = |n: &u16| all.partition_point(|m| m < n);
        let rows = of.iter().enumerate().map(|(i, n)| vec![i, place(n)]);
        self.only(&[&node.state, name], rows);
        Some(all)
    }

    /// The variable of a sum so far and one choir more.
    fn sum(
        &mut self,
        (before, sums): &(String, Vec<u16>),
        (name, adds): (&str, &[u16]),
    ) -> (String, Vec<u16>) {
        let pairs = || sums.iter().flat_map(|a| adds.iter().map(move |b| a + b));
        let all: BTreeSet<u16> = pairs().collect();
        let all: Vec<u16> = all.into_iter().collect();
        let total = format!("{name}_sum");
        self.variable(&total, &numbers(&all));
        let rows = pairs().enumerate().map(|(i, sum)| {
            let place = all.partition_point(|n| *n < sum);
            vec![i / adds.len(), i % adds.len(), place]
        });
        self.only(&[before, name, &total], rows);
        (total, all)
    }

    fn finish(self, title: &str) -> String {
        format!(
            "{{\"problem\": {{\"name\": \"{}\", \"mustbe\": \"<{FORBIDDEN}\"}},\n\"variables\": {{\n{}\n}},\n\"functions\": {{\n{}\n}}}}\n",
            word(title),
            self.variables,
            self.functions
        )
    }
}

fn numbers(all: &[u16]) -> Vec<String> {
    all.iter().map(|n| format!("n{n}")).collect()
}
