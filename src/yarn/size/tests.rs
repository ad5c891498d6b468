//! Yarn sizes against books, and every wrong one.

use super::*;

fn yards_per_pound(text: &str) -> f64 {
    Yarn::parse(text)
        .unwrap_or_else(|why| panic!("{why}"))
        .yards_per_pound()
}

#[test]
fn sizes_make_the_yards_per_pound_of_the_handbook() {
    // M. Roth and J. Schulz, Handbook of Timesaving Tables for Weavers, Spinners and Dyers (1993).
    for (text, yards) in [
        ("8/2 cotton", 3360.0),
        ("8/4 cotton", 1680.0),
        ("10/2 cotton", 4200.0),
        ("20/2 cotton", 8400.0),
        ("8/3 worsted", 1493.33),
        ("1 Nm", 496.05),
        ("1 lea", 300.0),
        ("1 run", 1600.0),
        ("560 yd/lb", 560.0),
    ] {
        let got = yards_per_pound(text);
        assert!((got - yards).abs() < 0.006, "{text}: {got}");
    }
}

#[test]
fn tex_times_the_count_is_the_constant_of_each_system() {
    // The same handbook's conversion constants.
    for (text, constant) in [
        ("1 cotton", 590.541),
        ("1 worsted", 885.812),
        ("1 linen lea", 1653.516),
        ("1 woollen run", 310.034),
        ("1 Nm", 1000.0),
    ] {
        let got = Yarn::parse(text).unwrap().tex();
        assert!((got - constant).abs() < 0.001, "{text}: {got}");
    }
}

#[test]
fn metric_counts_convert_to_cotton_counts_as_printed() {
    // NIMI, Shawl Weaving Artisan, Trade Theory, p. 70: 40 Nm = 23.62 Ne, 2/48 Nm = 14.17 Ne.
    for (text, cotton) in [("40 Nm", 23.62), ("2/48 Nm", 14.17)] {
        let got = yards_per_pound(text) / 840.0;
        assert!((got - cotton).abs() < 0.006, "{text}: {got}");
    }
}

#[test]
fn size_and_ply_are_read_in_either_order_where_only_one_makes_sense() {
    assert!((yards_per_pound("4/8 cotton") - yards_per_pound("8/4 cotton")).abs() < 1e-9);
    assert!((yards_per_pound("2/48 Nm") - yards_per_pound("48/2 Nm")).abs() < 1e-9);
    let why = Yarn::parse("8/16 cotton").unwrap_err();
    assert!(
        why.contains("847 m/kg") && why.contains("3387 m/kg"),
        "{why}"
    );
}

#[test]
fn one_yarn_is_read_the_same_from_many_ways_of_writing() {
    let metres = |text: &str| Yarn::parse(text).unwrap().metres_per_kg;
    for text in [
        "30 cotton",
        "30s cotton",
        "30's cotton",
        "Ne 30",
        "30 Ne",
        "Cotton 30",
        "25200 yd/lb",
        "25200 yards per pound",
    ] {
        assert!(
            (metres(text) - metres("30/1 cotton")).abs() < 1e-6,
            "{text}"
        );
    }
    for text in [
        "2500 m/kg",
        "125 m / 50 g",
        "125 m per 50 g",
        "2.5 Nm",
        "400 tex",
        "3600 denier",
        "4000 dtex",
        "2500 metres per kilogram",
    ] {
        assert!(
            (metres(text) - 2500.0).abs() < 1e-9,
            "{text}: {}",
            metres(text)
        );
    }
    assert!((metres("40/2 Nm linen") - 20_000.0).abs() < 1e-9);
}

#[test]
fn a_wrong_size_says_what_to_write_instead() {
    for (text, says) in [
        ("", "empty"),
        ("8/4", "of what"),
        ("30", "which system"),
        ("cotton", "no number"),
        ("8/4 wool", "worsted"),
        ("8/4 moonbeam", "'moonbeam'"),
        ("8/0 cotton", "no size"),
        ("0 cotton", "no size"),
        ("8/2.5 cotton", "whole number"),
        ("8/2/2 cotton", "no number"),
        ("30/2 tex", "whole yarn"),
        ("8/2 cotton worsted", "two systems"),
        ("560 yd", "is a length"),
        ("560 yd/m", "g, kg, oz or lb"),
        ("0 m/kg", "no size"),
        ("1e9 m/kg", "'e"),
        ("99999999 m/kg", "no yarn"),
        ("0.001 m/kg", "no yarn"),
    ] {
        let why = Yarn::parse(text).unwrap_err();
        assert!(why.contains(says), "{text}: {why}");
    }
}
