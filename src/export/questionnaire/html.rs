//! Small pieces of the page. Everything that was typed goes through [`escaped`].

/// Text for a page, between tags or in quotes; control characters but line ends become blanks.
pub(super) fn escaped(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            '\'' => safe.push_str("&#39;"),
            '\n' => safe.push('\n'),
            c if c.is_control() => safe.push(' '),
            c => safe.push(c),
        }
    }
    safe
}

/// A label with a line to write on.
pub(super) fn ruled(label: &str, id: &str) -> String {
    format!(
        "<p><label for=\"{id}\">{}</label> <input type=\"text\" id=\"{id}\"></p>\n",
        escaped(label)
    )
}

/// A line to write on, with what is known; `name` is read aloud in place of a label.
pub(super) fn line(name: &str, value: &str, class: &str) -> String {
    format!(
        "<input type=\"text\" class=\"{class}\" aria-label=\"{}\" value=\"{}\">",
        escaped(name),
        escaped(value)
    )
}

/// Lines to write on, as many as what is known needs and one more.
pub(super) fn lines(name: &str, value: &str, width: usize) -> String {
    let rows: usize = value
        .lines()
        .map(|l| 1 + l.chars().count() / width.max(1))
        .sum();
    format!(
        "<textarea rows=\"{}\" aria-label=\"{}\">{}</textarea>",
        (rows + 1).clamp(2, 40),
        escaped(name),
        escaped(value)
    )
}

/// A box to tick.
pub(super) fn tick(name: &str, label: &str, ticked: bool) -> String {
    format!(
        "<label class=\"tick\"><input type=\"checkbox\" aria-label=\"{}: {}\"{}> {}</label> ",
        escaped(name),
        escaped(label),
        if ticked { " checked" } else { "" },
        escaped(label)
    )
}
