//! The templates that come with the program.

use bandwright::plan::timeline::{
    MarkKind, Place, Seconds, read_timeline, template, template_source, template_words,
    write_timeline,
};

#[test]
fn every_template_says_what_it_does_and_fits_any_length() {
    assert!(template_words().count() >= 6);
    for word in template_words() {
        let made = template(word).unwrap();
        let source = template_source(word).unwrap();
        assert_eq!(read_timeline(source), Ok(made.clone().into()), "{word}");
        let text = write_timeline(&made.clone().into());
        assert_eq!(read_timeline(&text), Ok(made.clone().into()), "{word}");
        assert!(made.note.len() > 60 && !made.source.is_empty(), "{word}");
        assert!(!made.note.contains("TODO"));
        let peaks: Vec<_> = made
            .levels()
            .into_iter()
            .filter(|(m, _)| m.kind == MarkKind::Peak)
            .collect();
        assert_eq!(peaks.len(), 1, "{word}: one peak");
        let peak = peaks[0].1.unwrap();
        // Nothing is wanted louder than the peak, and no hush is near it.
        let most = made.points.iter().map(|p| p.intensity).fold(0.0, f64::max);
        assert_eq!(peak, most, "{word}");
        for (mark, level) in made.levels() {
            match mark.kind {
                MarkKind::Hush => assert!(level.unwrap() <= 3.0, "{word}: {}", mark.name),
                MarkKind::Crest => assert!(level.unwrap() < peak, "{word}: {}", mark.name),
                MarkKind::Peak => {}
            }
        }
        for bars in [1, 2, 7, 16, 64, 65, 200, 999, 10_000] {
            let fitted = made.in_bars(bars);
            assert_eq!(fitted.check(), Ok(()), "{word}, {bars} bars");
            assert_eq!(fitted.bars(), bars);
            assert_eq!(fitted.by_bar().len(), bars as usize);
            if bars >= 64 {
                // Every named place begins with a bar.
                assert!(
                    fitted.marks.iter().all(|m| m.at.beat == 1.0),
                    "{word}, {bars}"
                );
                let (mark, level) = fitted
                    .levels()
                    .into_iter()
                    .find(|(m, _)| m.kind == MarkKind::Peak)
                    .unwrap();
                assert_eq!(
                    level,
                    Some(peak),
                    "{word}, {bars} bars, {}",
                    mark.at.words()
                );
            }
        }
        for seconds in [1.0, 333.3, 7200.0] {
            let fitted = made.in_seconds(seconds);
            assert_eq!(fitted.check(), Ok(()), "{word}, {seconds} s");
            assert_eq!(fitted.end, Seconds(seconds));
        }
    }
    assert!(
        template("long-ris")
            .unwrap_err()
            .contains("did you mean `long-rise`?")
    );
    assert!(
        template("zzzzzz")
            .unwrap_err()
            .contains("there are `long-rise`")
    );
}
