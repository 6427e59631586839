//! A page as markup: nothing hostile gets out of its text, nothing is fetched, headings and tables are in order.

use super::pages::{all, bank, page, run};

/// What somebody might put where a page prints it.
const HOSTILE: &str = "</title><script>alert(1)</script><img src=x onerror=alert(2)>\\\"' & co";

#[test]
fn hostile_words_stay_words() {
    let design = bank(2).replace("Bank of 2", HOSTILE);
    let date = "\"><script>alert(3)</script>";
    let page = page("hostile", "-", Some(&design), &["--date", date]);
    for markup in ["<script", "<img", "onerror=alert(2)>\"", "</title><"] {
        let found = page.html.matches(markup).count();
        let own = if markup == "</title><" {
            page.html.matches("</title><style>").count()
                + page.html.matches("</title><desc").count()
        } else {
            0
        };
        assert_eq!(found, own, "`{markup}` stands in the page");
    }
    assert!(page.html.contains("&lt;/title&gt;&lt;script&gt;alert(1)"));
    assert!(page.html.contains("&quot;&gt;&lt;script&gt;alert(3)"));
    // The design file itself lets no markup into a name.
    let name = bank(2).replace("\"feed\"", "\"<b>feed</b>\"");
    let refused = run(&["report", "-", "-o", "-"], Some(&name));
    assert_eq!(refused.status.code(), Some(2));
}

#[test]
fn a_page_needs_nothing_else_and_is_the_same_bytes_again() {
    for page in all() {
        let body = page
            .html
            .replace("xmlns=\"http://www.w3.org/2000/svg\"", "");
        for outside in [
            "http:",
            "https:",
            "<script",
            "<link",
            " src=",
            "url(",
            "@import",
            "javascript:",
        ] {
            assert!(!body.contains(outside), "{}: `{outside}`", page.name);
        }
        assert!(
            page.html.len() < 1_000_000,
            "{}: {} bytes",
            page.name,
            page.html.len()
        );
    }
    let again = || run(&["report", "networks/bookmobile.json", "-o", "-"], None).stdout;
    assert_eq!(again(), again());
}

#[test]
fn headings_come_in_order_and_tables_and_drawings_say_what_they_are() {
    for page in all() {
        let mut last = 0;
        let mut rest = page.html.as_str();
        let mut count = 0;
        while let Some(at) = rest.find("<h") {
            rest = &rest[at + 2..];
            let Some(level) = rest.chars().next().and_then(|c| c.to_digit(10)) else {
                continue;
            };
            assert!(level <= last + 1, "{}: h{level} after h{last}", page.name);
            count += u32::from(level == 1);
            last = level;
        }
        assert_eq!(count, 1, "{}: one first heading", page.name);
        let tables = page.html.matches("<table").count();
        assert_eq!(
            tables,
            page.html.matches("<caption>").count(),
            "{}",
            page.name
        );
        assert_eq!(
            page.html.matches("<th>").count(),
            0,
            "{}: a heading without scope",
            page.name
        );
        let drawings = page.html.matches("role=\"img\"").count();
        assert!(
            drawings > 0 && drawings <= page.html.matches("<title id=").count(),
            "{}",
            page.name
        );
        let mut ids: Vec<&str> = page
            .html
            .split(" id=\"")
            .skip(1)
            .filter_map(|p| p.split('"').next())
            .collect();
        let all = ids.len();
        ids.sort_unstable();
        ids.dedup();
        assert_eq!(ids.len(), all, "{}: an id stands twice", page.name);
    }
}

#[test]
fn the_page_says_what_an_inspector_asks_for() {
    let page = page(
        "bookmobile",
        "networks/bookmobile.json",
        None,
        &["--date", "2026-05-04"],
    );
    for words in [
        "NO, missed",
        "High voltage kills",
        "Local codes and licensed practice decide",
        "Cut list",
        "Bucket test",
        "Pressure test",
        "Commissioning record",
        "Inspector, date",
        "Not modelled",
        "Churchill (1977)",
        "2026-05-04",
        "SHA-256",
    ] {
        assert!(page.html.contains(words), "no `{words}`");
    }
}
