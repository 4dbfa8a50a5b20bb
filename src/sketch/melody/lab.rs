//! Research only.
use super::*;
use crate::sketch::song::Song;
/// dump
pub fn dump(song: &Song, weights_text: &str, out: &mut Vec<u8>) {
    let (notes, _) = crate::sketch::read::pitched_notes(song, &[]);
    let prior = TrackPrior::default();
    let view = MelodyView {
        notes: &notes,
        prior: &prior,
        meters: &song.meters,
    };
    let w = weights::parse(weights_text);
    let mut s = Search::new(&view);
    let (line, _) = s.solve(&w[0]);
    s.look_again(&line);
    if std::env::var("THIRD").is_ok() {
        let (l, _) = s.solve(&w[1]);
        s.look_again(&l);
    }
    let (line2, sure) = s.solve(&w[1]);
    let u = |out: &mut Vec<u8>, v: u32| out.extend(v.to_le_bytes());
    let f = |out: &mut Vec<u8>, v: f64| out.extend((v as f32).to_le_bytes());
    u(out, s.attacks.list.len() as u32);
    u(out, s.candidates.len() as u32);
    u(out, feature::COUNT as u32);
    for a in &s.attacks.list {
        f(out, a.at);
    }
    let m1: std::collections::BTreeSet<usize> = line.into_iter().collect();
    let m2: std::collections::BTreeSet<usize> = line2.into_iter().collect();
    for (i, c) in s.candidates.iter().enumerate() {
        let n = &s.attacks.struck[c.struck];
        let p = Place::new(&s.attacks, c.attack, n);
        u(out, c.attack as u32);
        u(out, n.note as u32);
        u(out, p.let_go as u32);
        u(out, p.rest as u32);
        u(out, u32::from(n.pitch));
        u(out, u32::from(m1.contains(&i)));
        u(out, u32::from(m2.contains(&i)));
        f(out, n.at);
        f(out, n.end);
        f(out, sure[i]);
    }
    for c in &s.candidates {
        for v in &c.values {
            f(out, *v);
        }
    }
}
/// words
pub fn words() -> Vec<String> {
    feature::WORDS.iter().map(|w| (*w).to_owned()).collect()
}
