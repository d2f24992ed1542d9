//! A small reader of Rust source: which names a file uses, with comments,
//! texts and tests left out.
//!
//! It knows just enough of the language for `arrows`: start at `tokens`, then
//! `without_tests`, then `under`.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

/// The repository's root.
pub(crate) fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// Every Rust file under a folder of the repository, with its path there.
pub(crate) fn files(folder: &str) -> Vec<(String, String)> {
    let mut found = Vec::new();
    let mut folders = vec![root().join(folder)];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|ending| ending == "rs") {
                let name = path.strip_prefix(root()).unwrap().to_str().unwrap().replace('\\', "/");
                found.push((name, fs::read_to_string(&path).unwrap()));
            }
        }
    }
    found.sort();
    found
}

/// The files that are compiled for tests only: those of `#[cfg(test)] mod x;`.
pub(crate) fn of_tests(all: &[(String, String)]) -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    for (path, text) in all {
        let folder = match path.rsplit_once('/') {
            Some((folder, "mod.rs" | "lib.rs" | "main.rs")) => folder,
            _ => path.trim_end_matches(".rs"),
        };
        let tokens = tokens(text);
        for n in 0..tokens.len() {
            if !tokens[n..].iter().take(MARK.len()).eq(MARK.iter()) {
                continue;
            }
            let item = after_attributes(&tokens, n + MARK.len());
            if let [word, name, end, ..] = &tokens[item..]
                && (word.as_str(), end.as_str()) == ("mod", ";")
            {
                let (file, inner) = (format!("{folder}/{name}.rs"), format!("{folder}/{name}/"));
                let inside = |path: &&String| **path == file || path.starts_with(&inner);
                found.extend(all.iter().map(|(path, _)| path).filter(inside).cloned());
            }
        }
    }
    found
}

/// What stands before an item that is compiled for tests only.
const MARK: [&str; 7] = ["#", "[", "cfg", "(", "test", ")", "]"];

/// Words and marks of a source text; comments, texts and characters are gone.
pub(crate) fn tokens(text: &str) -> Vec<String> {
    let all: Vec<char> = text.chars().collect();
    let at = |n: usize| all.get(n).copied().unwrap_or('\0');
    let mut found = Vec::new();
    let mut n = 0;
    while n < all.len() {
        let c = at(n);
        if c == '/' && at(n + 1) == '/' {
            while n < all.len() && at(n) != '\n' {
                n += 1;
            }
        } else if c == '/' && at(n + 1) == '*' {
            let mut depth = 0;
            loop {
                match (at(n), at(n + 1)) {
                    ('/', '*') => (depth, n) = (depth + 1, n + 2),
                    ('*', '/') => (depth, n) = (depth - 1, n + 2),
                    _ => n += 1,
                }
                if depth == 0 || n >= all.len() {
                    break;
                }
            }
        } else if let Some(hashes) = raw_text(&all, n) {
            while at(n) != '"' {
                n += 1;
            }
            n += 1;
            while n < all.len() && !(at(n) == '"' && (1..=hashes).all(|h| at(n + h) == '#')) {
                n += 1;
            }
            n += 1 + hashes;
        } else if c == '"' {
            n += 1;
            while n < all.len() && at(n) != '"' {
                n += if at(n) == '\\' { 2 } else { 1 };
            }
            n += 1;
        } else if c == '\'' && (at(n + 1) == '\\' || at(n + 2) == '\'') {
            // A character; a lifetime has no second quote.
            n += if at(n + 1) == '\\' { 3 } else { 2 };
            while n < all.len() && at(n) != '\'' {
                n += 1;
            }
            n += 1;
        } else if c.is_alphanumeric() || c == '_' {
            let start = n;
            while at(n).is_alphanumeric() || at(n) == '_' {
                n += 1;
            }
            found.push(all[start..n].iter().collect());
        } else if c == ':' && at(n + 1) == ':' {
            found.push("::".into());
            n += 2;
        } else {
            if !c.is_whitespace() {
                found.push(c.to_string());
            }
            n += 1;
        }
    }
    found
}

/// The number of hashes of a raw text that begins here.
fn raw_text(all: &[char], n: usize) -> Option<usize> {
    let inside_a_word = n > 0 && all.get(n - 1).is_some_and(|c| c.is_alphanumeric() || *c == '_');
    let mut n = n;
    if all.get(n) == Some(&'b') {
        n += 1;
    }
    if inside_a_word || all.get(n) != Some(&'r') {
        return None;
    }
    let hashes = all[n + 1..].iter().take_while(|c| **c == '#').count();
    (all.get(n + 1 + hashes) == Some(&'"')).then_some(hashes)
}

/// The tokens without items that are compiled for tests only.
pub(crate) fn without_tests(tokens: &[String]) -> Vec<String> {
    let mut kept = Vec::new();
    let mut n = 0;
    while n < tokens.len() {
        if tokens[n..].iter().take(MARK.len()).eq(MARK.iter()) {
            n = end_of_item(tokens, after_attributes(tokens, n + MARK.len()));
        } else {
            kept.push(tokens[n].clone());
            n += 1;
        }
    }
    kept
}

/// Where the item begins that further attributes stand before.
fn after_attributes(tokens: &[String], mut n: usize) -> usize {
    while tokens.get(n).is_some_and(|token| token == "#") {
        let mut depth = 0;
        loop {
            n += 1;
            match tokens.get(n).map(String::as_str) {
                Some("[") => depth += 1,
                Some("]") => depth -= 1,
                None => return n,
                _ => {}
            }
            if depth == 0 {
                break;
            }
        }
        n += 1;
    }
    n
}

/// Where the item ends that begins here: after its `;` or its last brace.
fn end_of_item(tokens: &[String], mut n: usize) -> usize {
    let mut depth = 0;
    while n < tokens.len() {
        match tokens[n].as_str() {
            "{" | "(" | "[" => depth += 1,
            ")" | "]" => depth -= 1,
            "}" => {
                depth -= 1;
                // `use a::{b};` goes on to its semicolon.
                if depth == 0 && tokens.get(n + 1).is_none_or(|next| next != ";") {
                    return n + 1;
                }
            }
            ";" if depth == 0 => return n + 1,
            _ => {}
        }
        n += 1;
    }
    n
}

/// The first names after `from::`, such as `model` in `crate::model::Day`;
/// of a group in braces, each one's first.
pub(crate) fn under(tokens: &[String], from: &str) -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    for (n, pair) in tokens.windows(2).enumerate() {
        if pair[0] == from && pair[1] == "::" && (n == 0 || tokens[n - 1] != "::") {
            names(&tokens[n + 2..], &mut found);
        }
    }
    found
}

/// The top-level names that `super::super::…` reaches from a module that is
/// `depth` below the root.
pub(crate) fn above(tokens: &[String], depth: usize) -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    let mut n = 0;
    while n < tokens.len() {
        let mut ups = 0;
        while tokens.get(n).is_some_and(|t| t == "super") && tokens.get(n + 1).is_some_and(|t| t == "::") {
            ups += 1;
            n += 2;
        }
        if ups > 0 && ups >= depth {
            names(&tokens[n..], &mut found);
        }
        n += 1;
    }
    found
}

fn names(rest: &[String], found: &mut BTreeSet<String>) {
    match rest.first().map(String::as_str) {
        Some("{") => {
            let mut depth = 0;
            let mut fresh = true;
            for token in rest {
                match token.as_str() {
                    "{" => depth += 1,
                    "}" => depth -= 1,
                    "," if depth == 1 => fresh = true,
                    word if depth == 1 && fresh => {
                        found.insert(word.into());
                        fresh = false;
                    }
                    _ => {}
                }
                if depth == 0 {
                    break;
                }
            }
        }
        Some(word) => {
            found.insert(word.into());
        }
        None => {}
    }
}

mod tests {
    use super::*;

    fn crate_names(text: &str) -> Vec<String> {
        under(&without_tests(&tokens(text)), "crate").into_iter().collect()
    }

    #[test]
    fn names_are_found_in_uses_groups_and_paths() {
        assert_eq!(
            crate_names("use crate::model::{Day, Name}; fn f() { crate::face::of() }"),
            ["face", "model"]
        );
        assert_eq!(
            crate_names("use crate::{\n  model::{Day, fields::Value},\n  words,\n};"),
            ["model", "words"]
        );
        assert_eq!(crate_names("macro_rules! m { () => { $crate::sync::Hlc } }"), ["sync"]);
        assert_eq!(crate_names("pub(crate) use word;"), Vec::<String>::new());
    }

    #[test]
    fn comments_texts_and_tests_name_nothing() {
        let text = r##"
            //! crate::book
            /* crate::act /* crate::act */ crate::act */
            const A: &str = "crate::table \" crate::table";
            const B: &str = r#"crate::screen " crate::screen"#;
            fn f<'a>(c: char) -> bool { c == '"' || c == '\'' || c == '\u{2013}' }
            use crate::model::Day;
            #[cfg(test)]
            use crate::chart::{a, b};
            #[cfg(test)]
            mod tests { use crate::lesson::Log; fn g() { {} } }
            #[cfg(test)]
            mod more;
            fn h() { crate::sync::now() }
        "##;
        assert_eq!(crate_names(text), ["model", "sync"]);
    }

    #[test]
    fn files_of_tests_are_told_by_how_they_are_declared_not_by_their_names() {
        let file = |path: &str, text: &str| (path.to_owned(), text.to_owned());
        let all = [
            file("a/mod.rs", "mod tests_of_balls; #[cfg(test)] #[allow(a::b[c])] mod probe;"),
            file("a/probe.rs", ""),
            file("a/probe/more.rs", ""),
            file("a/tests_of_balls.rs", "#[cfg(test)]\nmod tests;"),
            file("a/tests_of_balls/tests.rs", ""),
        ];
        let found: Vec<_> = of_tests(&all).into_iter().collect();
        assert_eq!(found, ["a/probe.rs", "a/probe/more.rs", "a/tests_of_balls/tests.rs"]);
    }

    #[test]
    fn ways_up_count_only_where_they_reach_the_root() {
        let text =
            tokens("use super::word; use super::super::book::Book; use super::super::{face, words::number};");
        assert_eq!(above(&text, 2).into_iter().collect::<Vec<_>>(), ["book", "face", "words"]);
        assert_eq!(above(&text, 3).len(), 0);
    }
}
