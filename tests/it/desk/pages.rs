//! The desk in a real browser: by mouse, by finger, by keys alone; looked at by an accessibility
//! checker.

use std::path::{Path, PathBuf};

use serde_json::Value;

use super::browser::{Browser, key};
use super::server::Desk;

const SCAN: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/testdata/demo/lamp_pull.jpg");
const PLAN: &str = concat!(
    env!("CARGO_MANIFEST_DIR"),
    "/testdata/demo/lamp_pull.plan.json"
);
/// Two places of the sample scan, 2000 px apart: at 300 dpi that is 169.33 mm.
const MARKS: [(f64, f64); 2] = [(300.0, 60.0), (2300.0, 60.0)];
const APART: &str = "169.33 mm";

/// Where the accessibility checker lies, once it was fetched (`.ci/run` does).
fn checker() -> Option<PathBuf> {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("target/axe/package/axe.min.js");
    if file.is_file() {
        return Some(file);
    }
    let words = "target/axe/package/axe.min.js is missing";
    assert!(std::env::var_os("CI").is_none(), "{words}");
    eprintln!("SKIPPED: {words}; .ci/run fetches it; the page was not checked for accessibility");
    None
}

/// Everything serious that the checker finds on the page as it stands.
fn assert_accessible(browser: &Browser, place: &str) {
    let Some(file) = checker() else { return };
    browser.run(&std::fs::read_to_string(file).unwrap());
    let found = browser.run_later(
        "const done = arguments[arguments.length - 1];
         axe.run(document).then(
           (all) => done(all.violations
             .filter((one) => ['serious', 'critical'].includes(one.impact))
             .map((one) => one.id + ': ' + one.nodes.map((node) => node.html).join(' '))),
           (error) => done([String(error)]));",
    );
    assert_eq!(found, Value::Array(Vec::new()), "{place}");
}

/// Nothing went wrong in the page, and nothing was fetched from elsewhere.
fn assert_quiet(browser: &Browser, desk: &Desk) {
    assert_eq!(browser.console(), Vec::<String>::new());
    let own = format!("http://{}/", desk.host());
    let here = |address: &String| {
        // chrome: is the browser's own empty page, before the desk is opened.
        let within = ["data:", "blob:", "chrome:"];
        address.starts_with(&own) || within.iter().any(|kind| address.starts_with(kind))
    };
    let addresses = browser.addresses();
    assert!(
        addresses.iter().any(|one| one.starts_with(&own)),
        "{addresses:?}"
    );
    let elsewhere: Vec<&String> = addresses.iter().filter(|one| !here(one)).collect();
    assert!(elsewhere.is_empty(), "{elsewhere:?}");
}

fn picks(browser: &Browser) -> i64 {
    let text = browser.run(
        "return [...document.querySelectorAll('.figures tr')]
           .find((row) => row.cells[0].textContent === 'picks').cells[1].textContent",
    );
    text.as_str().unwrap().trim().parse().unwrap()
}

/// Upload, plan, scale by two clicks, a dragged body end, a deleted pick, the report.
fn the_whole_job(width: u32, height: u32, pointer: &str) {
    let Some(browser) = Browser::open(width, height) else {
        return;
    };
    let desk = Desk::open();
    browser.go(&desk.address());
    browser.wait("document.documentElement.dataset.ready");
    assert_accessible(&browser, "an empty desk");
    browser.run("location.hash = '#plan'");
    browser.give_file("#view-plan input[type=file]", Path::new(PLAN));
    browser.wait("document.querySelector('.worked pre')");
    browser.picture(&format!("plan-{width}.png"));
    assert_accessible(&browser, "the plan");
    browser.run("location.hash = '#bands'");
    browser.give_file("#files", Path::new(SCAN));
    browser.wait("document.querySelector('.view[data-photo]')");
    browser.click("input[value=points]");
    browser.wait("document.querySelector('#length')");
    browser.run("document.querySelector('#stage').scrollIntoView({ block: 'center' })");
    for (index, (x, y)) in MARKS.into_iter().enumerate() {
        browser.drag(pointer, &[browser.on_screen(x, y)]);
        browser.wait(&format!(
            "document.querySelectorAll('.handle.mark').length === {}",
            index + 1
        ));
    }
    browser.type_into("#length", APART);
    browser.picture(&format!("scale-{width}.png"));
    assert_accessible(&browser, "two places in the photo");
    browser.click("#measure");
    browser.wait("document.querySelector('.figures')");
    assert_eq!(picks(&browser), 71);
    let scale = browser.run(
        "return Number(document.querySelector('#result').textContent
           .match(/known distance: ([0-9.]+)/)[1])",
    );
    // A screen pixel of the narrow page is eight of the photo's.
    let px_per_mm = scale.as_f64().unwrap();
    assert!((px_per_mm - 11.811).abs() < 0.07, "{px_per_mm}");
    browser.picture(&format!("measured-{width}.png"));
    assert_accessible(&browser, "a result");
    drag_the_start(&browser, pointer);
    take_out_a_pick(&browser, pointer);
    browser.picture(&format!("mended-{width}.png"));
    open_the_report(&browser);
    fits(&browser, width);
    assert_quiet(&browser, &desk);
}

fn drag_the_start(browser: &Browser, pointer: &str) {
    browser.run("document.querySelector('#stage').scrollIntoView({ block: 'center' })");
    let place = browser.run(
        "const at = document.querySelector('.handle.end').getBoundingClientRect();
         return [at.x + at.width / 2, at.y + at.height / 2];",
    );
    let (x, y) = (place[0].as_f64().unwrap(), place[1].as_f64().unwrap());
    // Three picks further in, about 7.4 mm of 11.81 px.
    let (a, b) = (
        browser.on_screen(0.0, 0.0).0,
        browser.on_screen(87.0, 0.0).0,
    );
    browser.drag(pointer, &[(x, y), (x + 0.5 * (b - a), y), (x + (b - a), y)]);
    browser.wait("document.querySelector('#by-hand')");
    let left = picks(browser);
    assert!((67..=69).contains(&left), "{left} picks are left");
    let said = browser.run("return document.querySelector('#by-hand').textContent");
    assert!(
        said.as_str()
            .unwrap()
            .contains("the start of the body set at"),
        "{said}"
    );
    browser.click("#undo");
    browser.wait("!document.querySelector('#by-hand')");
    assert_eq!(picks(browser), 71);
}

fn take_out_a_pick(browser: &Browser, pointer: &str) {
    browser.click("input[value=take]");
    browser.run("document.querySelector('#stage').scrollIntoView({ block: 'center' })");
    let at = browser.run(
        "const numbers = [...document.querySelectorAll('.marks line.tenth')];
         const line = numbers[3];
         const of = (name) => Number(line.getAttribute(name));
         return [(of('x1') + of('x2')) / 2, (of('y1') + of('y2')) / 2];",
    );
    let place = browser.on_screen(at[0].as_f64().unwrap(), at[1].as_f64().unwrap());
    browser.drag(pointer, &[place]);
    browser.wait("document.querySelector('#by-hand')");
    assert_eq!(picks(browser), 70);
    let said = browser.run("return document.querySelector('#by-hand').textContent");
    assert!(
        said.as_str().unwrap().contains("Put right by hand: pick"),
        "{said}"
    );
}

fn open_the_report(browser: &Browser) {
    let before = browser.windows();
    browser.click("#report-html");
    let opened = || {
        browser
            .windows()
            .into_iter()
            .find(|one| !before.contains(one))
    };
    let mut window = opened();
    for _ in 0..100 {
        if window.is_some() {
            break;
        }
        std::thread::sleep(std::time::Duration::from_millis(50));
        window = opened();
    }
    browser.turn_to(&window.expect("the report opens in a window of its own"));
    browser.wait("document.querySelector('table.figures')");
    let text = browser.run("return document.body.innerText");
    assert!(
        text.as_str().unwrap().contains("ut right by hand"),
        "{text}"
    );
    assert_eq!(browser.console(), Vec::<String>::new());
    browser.turn_to(&before[0]);
}

/// Nothing runs off the side of the page.
fn fits(browser: &Browser, width: u32) {
    let wide = browser.run("return document.documentElement.scrollWidth");
    assert!(wide.as_u64().unwrap() <= u64::from(width), "{wide} px wide");
}

#[test]
fn by_mouse_on_a_wide_screen_the_whole_job_is_done() {
    the_whole_job(1280, 900, "mouse");
}

#[test]
fn by_finger_on_a_phone_the_whole_job_is_done() {
    the_whole_job(390, 844, "touch");
}

/// Presses Tab until the focus is where it is wanted.
fn tab_to(browser: &Browser, selector: &str) {
    for _ in 0..150 {
        let there = browser.run(&format!(
            "return document.activeElement?.matches({selector:?}) ?? false"
        ));
        if there == Value::Bool(true) {
            return;
        }
        browser.press(&[key::TAB]);
    }
    panic!("Tab never comes to {selector}");
}

#[test]
fn keys_alone_are_enough() {
    let Some(browser) = Browser::open(1280, 900) else {
        return;
    };
    let desk = Desk::open();
    browser.go(&desk.address());
    browser.wait("document.documentElement.dataset.ready");
    tab_to(&browser, "#sample");
    browser.press(&[key::ENTER]);
    browser
        .wait("document.querySelector('.view[data-photo]') && document.querySelector('#measure')");
    // Scale by two places, set and moved by keys.
    tab_to(&browser, "input[name=way]");
    browser.press(&[key::DOWN, key::DOWN, key::DOWN, key::DOWN, key::DOWN]);
    tab_to(&browser, "#marks-by-keys");
    browser.press(&[key::ENTER]);
    browser.wait("document.activeElement.matches('.handle.mark')");
    let before = browser.run("return document.activeElement.getAttribute('aria-valuetext')");
    browser.press(&[key::SHIFT, key::RIGHT, key::RIGHT]);
    browser.press(&[key::LEFT]);
    let after = browser.run("return document.activeElement.getAttribute('aria-valuetext')");
    let px = |text: &Value| {
        let text = text.as_str().unwrap().to_owned();
        text.split(' ').next().unwrap().parse::<f64>().unwrap()
    };
    assert!(
        (px(&after) - px(&before) - 19.0).abs() < 0.2,
        "{before} {after}"
    );
    tab_to(&browser, "#length");
    // 1616.4 px less the 19 that the first mark went: 1597.4 px at 300 dpi.
    for letter in "135.2 mm".chars() {
        browser.press(&[&letter.to_string()]);
    }
    browser.press(&[key::ENTER]);
    browser.wait("document.querySelector('.figures')");
    assert_eq!(picks(&browser), 71);
    // The start of the body, a millimetre at a time.
    tab_to(&browser, ".handle.end");
    browser.press(&[key::SHIFT, key::RIGHT, key::RIGHT, key::RIGHT, key::RIGHT]);
    browser.wait("document.querySelector('#by-hand')");
    browser.wait("document.activeElement.matches('.handle.end')");
    let left = picks(&browser);
    assert!((68..=70).contains(&left), "{left} picks are left");
    tab_to(&browser, "input[name=tool]");
    browser.press(&[key::RIGHT]);
    tab_to(&browser, "#pick-number");
    browser.press(&["3", "0"]);
    tab_to(&browser, "#take-out");
    browser.press(&[key::SPACE]);
    browser.wait("document.querySelector('#by-hand').textContent.includes('taken out')");
    assert_eq!(picks(&browser), left - 1);
    tab_to(&browser, "#undo");
    browser.press(&[key::ENTER]);
    browser.wait("!document.querySelector('#by-hand').textContent.includes('taken out')");
    assert_eq!(picks(&browser), left);
    // The four millimetres were one change.
    tab_to(&browser, "#undo");
    browser.press(&[key::ENTER]);
    browser.wait("!document.querySelector('#by-hand')");
    assert_eq!(picks(&browser), 71);
    assert_quiet(&browser, &desk);
}

/// A close-up has nothing to put right; as a whole band it has.
fn a_close_up(width: u32, height: u32) {
    let Some(browser) = Browser::open(width, height) else {
        return;
    };
    let desk = Desk::open();
    desk.put_sample();
    browser.go(&desk.address());
    browser
        .wait("document.querySelector('.view[data-photo]') && document.querySelector('#measure')");
    let hidden = "return document.querySelector('#settings-piece').closest('label').hidden";
    assert_eq!(browser.run(hidden), true);
    let shows = |what: &str| {
        browser.run(&format!(
            "const shows = document.querySelector('#settings-shows');
             shows.value = '{what}';
             shows.dispatchEvent(new Event('change'))"
        ))
    };
    browser.run("document.querySelector('#scale-box').open = true");
    shows("cloth");
    assert_eq!(browser.run(hidden), false);
    browser.type_into("#settings-piece", "520,260,500,200");
    browser.type_into("#settings-count", "10 in 1 in at 0 in");
    browser.picture(&format!("close-up-asked-{width}.png"));
    assert_accessible(&browser, "a close-up asked for");
    browser.click("#measure");
    browser.wait("document.querySelector('.figures')");
    assert_eq!(picks(&browser), 17);
    let mending = "return document.querySelector('#mending').hidden";
    assert_eq!(browser.run(mending), true);
    browser.picture(&format!("close-up-{width}.png"));
    assert_accessible(&browser, "a close-up");
    fits(&browser, width);
    browser.run("document.querySelector('#scale-box').open = true");
    shows("band");
    browser.click("#measure");
    browser.wait("!document.querySelector('#mending').hidden");
    assert_eq!(picks(&browser), 71);
    // Measured anew for other units, by then as what it is said to be.
    let units = |units: &str| {
        browser.run(&format!(
            "const units = document.querySelector('#units');
             units.value = '{units}';
             units.dispatchEvent(new Event('change'))"
        ))
    };
    shows("cloth");
    units("cm");
    browser.wait("document.querySelector('#mending').hidden");
    assert_eq!(picks(&browser), 17);
    shows("band");
    units("in");
    browser.wait("!document.querySelector('#mending').hidden");
    assert_eq!(picks(&browser), 71);
    assert_eq!(
        browser.run("return document.querySelectorAll('.handle.end').length"),
        2
    );
    assert_quiet(&browser, &desk);
}

#[test]
fn a_close_up_shows_its_picks_and_what_she_counted_herself() {
    a_close_up(1280, 900);
    a_close_up(390, 844);
}

#[test]
fn a_class_is_sorted_compared_and_given_its_yarn() {
    let Some(browser) = Browser::open(1280, 900) else {
        return;
    };
    let desk = Desk::open();
    desk.put_sample();
    browser.go(&desk.address());
    browser.wait("document.querySelector('.view[data-photo]')");
    browser.give_file("#files", Path::new(SCAN));
    browser.wait("document.querySelectorAll('.photos li').length === 2");
    browser.run("location.hash = '#plan'");
    browser.give_file("#view-plan input[type=file]", Path::new(PLAN));
    browser.wait("document.querySelector('.worked pre')");
    browser.click(".cell");
    browser.wait("document.querySelector('.drawdown .spoken').textContent !== 'under 1, over 1'");
    browser.click(".cell");
    browser.run("location.hash = '#bands'");
    browser.click("input[value=dpi]");
    browser.click("#measure-all");
    browser.wait("document.querySelector('#status').textContent.startsWith('All 2')");
    browser.run("location.hash = '#class'");
    browser.wait("document.querySelectorAll('table.class tbody tr').length === 2");
    browser.type_into("table.class tbody tr:nth-child(2) th input", "Third oar");
    browser.click("#sort-0");
    browser.wait("document.querySelector('th[aria-sort=ascending]')");
    browser.click("#compare");
    browser.wait("document.querySelector('#comparison').textContent.includes('Third oar')");
    let report = browser.run("return document.querySelector('#class-report').href");
    browser.click("#yarn");
    browser.wait("document.querySelectorAll('#view-class > section pre').length > 0");
    browser.picture("class-1280.png");
    assert_accessible(&browser, "the class");
    fits(&browser, 1280);
    browser.go(report.as_str().unwrap());
    let slips = browser.run("return document.body.innerText");
    assert!(slips.as_str().unwrap().contains("Third oar"), "{slips}");
    assert_quiet(&browser, &desk);
}
