//! Examples in the help: each line can be copied, however wide the terminal is.

use clap::Command;

/// How many letters a line of an example has at most: terminals are that wide.
const WIDTH: usize = 80;

/// Breaks the examples of a command and of all below it where the help would wrap them, so that a shell takes the lines
/// together.
pub(crate) fn copyable(command: Command) -> Command {
    let text = command.get_after_help().map(|text| broken(&text.to_string()));
    let command = match text {
        Some(text) => command.after_help(text),
        None => command,
    };
    command.mut_subcommands(copyable)
}

fn broken(text: &str) -> String {
    let lines = text.lines().map(|line| match line.strip_prefix("  ligule ") {
        // Four blanks stand before a remark.
        Some(rest) if line.chars().count() > WIDTH && !rest.contains("    ") => in_lines(line),
        _ => line.to_owned(),
    });
    lines.collect::<Vec<_>>().join("\n")
}

/// Breaks a line before flags, and at blanks where what stands between two flags is too long.
fn in_lines(line: &str) -> String {
    let indent = line.len() - line.trim_start().len();
    let mut parts: Vec<String> = Vec::new();
    for word in words(line.trim_start()) {
        match parts.last_mut() {
            Some(last)
                if last.starts_with("--") && !word.starts_with("--") && width(last) + width(&word) < WIDTH / 2 =>
            {
                last.push(' ');
                last.push_str(&word);
            }
            _ => parts.push(word),
        }
    }
    let mut out = " ".repeat(indent);
    let mut used = indent;
    for (at, part) in parts.iter().enumerate() {
        // A blank and the mark of a line that goes on have to stand behind it.
        if at > 0 && used + 1 + width(part) + 2 > WIDTH {
            out.push_str(" \\\n");
            used = indent + 4;
            out.push_str(&" ".repeat(used));
        } else if at > 0 {
            out.push(' ');
            used += 1;
        }
        out.push_str(part);
        used += width(part);
    }
    out
}

/// Takes a line apart at blanks that do not stand in quotes.
fn words(line: &str) -> Vec<String> {
    let mut quote = None;
    let mut words = vec![String::new()];
    for letter in line.chars() {
        match quote {
            None if letter == ' ' => {
                words.push(String::new());
                continue;
            }
            None if letter == '"' || letter == '\'' => quote = Some(letter),
            Some(open) if open == letter => quote = None,
            _ => {}
        }
        words.last_mut().expect("one is there").push(letter);
    }
    words
}

fn width(text: &str) -> usize {
    text.chars().count()
}

#[cfg(test)]
mod tests {
    use super::broken;

    #[test]
    fn a_long_example_goes_on_in_lines_that_a_shell_takes_together() {
        let short = "Example:\n  ligule field list";
        assert_eq!(broken(short), short);
        let long = "Example:\n  ligule record harvest north-40 --day 2026-10-07 --note \"a few words\" --test-weight 57.5lb/bu --lodged 4%\n\nMore.";
        let lines = broken(long);
        assert!(lines.lines().all(|line| line.len() <= super::WIDTH), "{lines}");
        assert!(lines.contains(" \\\n      --test-weight 57.5lb/bu"), "{lines}");
        let together = lines.replace(" \\\n      ", " ");
        assert_eq!(together, long);
    }
}
