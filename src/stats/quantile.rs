//! Quantiles of the normal and of Student's distribution.
//!
//! References: M. J. Wichura, *Appl. Stat.* 37 (1988) 477, algorithm AS 241 (PPND7, good to seven
//! digits); G. W. Hill, *Comm. ACM* 13 (1970) 619, algorithm 396, for Student's t (the first
//! branch; good to four digits from two degrees of freedom on).

/// The value that a standard normal variable stays below with probability `p` (0 < p < 1).
///
/// ```
/// assert!((evenfell::stats::normal_quantile(0.975) - 1.959_964).abs() < 1e-5);
/// ```
#[must_use]
pub fn normal_quantile(p: f64) -> f64 {
    let q = p - 0.5;
    if q.abs() <= 0.425 {
        let r = 0.180_625 - q * q;
        let top =
            ((59.109_374_720 * r + 159.291_132_02) * r + 50.434_271_938) * r + 3.387_132_717_9;
        let bottom = ((67.187_563_600 * r + 78.757_757_664) * r + 17.895_169_469) * r + 1.0;
        return q * top / bottom;
    }
    let r = (-(p.min(1.0 - p).max(1e-300)).ln()).sqrt();
    let z = if r <= 5.0 {
        let r = r - 1.6;
        (((0.170_238_210_3 * r + 1.306_728_481_6) * r + 2.756_815_390_0) * r + 1.423_437_277_7)
            / ((0.120_211_321_0 * r + 0.737_001_645_0) * r + 1.0)
    } else {
        let r = r - 5.0;
        (((0.017_337_203_997 * r + 0.428_682_943_37) * r + 3.081_226_386_0) * r + 6.657_905_115_0)
            / ((0.012_258_202_635 * r + 0.241_978_947_25) * r + 1.0)
    };
    z.copysign(q)
}

/// The value that Student's t with `freedom` degrees of freedom (2 or more) stays below with
/// probability `p` (0.5 < p < 1).
///
/// ```
/// assert!((evenfell::stats::t_quantile(0.975, 10.0) - 2.228).abs() < 0.002);
/// ```
#[must_use]
pub fn t_quantile(p: f64, freedom: f64) -> f64 {
    let n = freedom.max(2.0);
    let two_sided = 2.0 * (1.0 - p);
    let a = 1.0 / (n - 0.5);
    let b = (48.0 / a / a).max(f64::MIN_POSITIVE);
    let mut c = ((20_700.0 * a / b - 98.0) * a - 16.0) * a + 96.36;
    let d = ((94.5 / (b + c) - 3.0) / b + 1.0) * (a * std::f64::consts::FRAC_PI_2).sqrt() * n;
    let mut x = d * two_sided;
    let mut y = x.powf(2.0 / n);
    if y > 0.05 + a {
        x = normal_quantile(1.0 - 0.5 * two_sided);
        y = x * x;
        if n < 5.0 {
            c += 0.3 * (n - 4.5) * (x - 0.6);
        }
        c += (((0.05 * d * x - 5.0) * x - 7.0) * x - 2.0) * x + b;
        y = (((((0.4 * y + 6.3) * y + 36.0) * y + 94.5) / c - y - 3.0) / b + 1.0) * x;
        y = a * y * y;
        y = y.exp_m1();
    } else {
        y = ((1.0 / (((n + 6.0) / (n * y) - 0.089 * d - 0.822) * (n + 2.0) * 3.0)
            + 0.5 / (n + 4.0))
            * y
            - 1.0)
            * (n + 1.0)
            / (n + 2.0)
            + 1.0 / y;
    }
    (n * y).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_normal_quantile_agrees_with_the_tables() {
        for (p, z) in [
            (0.5, 0.0),
            (0.975, 1.959_963_985),
            (0.9999, 3.719_016_485),
            (0.01, -2.326_347_874),
            (1e-12, -7.034_483_825),
        ] {
            assert!(
                (normal_quantile(p) - z).abs() < 2e-6 * (1.0 + f64::abs(z)),
                "{p}"
            );
        }
    }

    #[test]
    fn the_t_quantile_agrees_with_the_tables() {
        for (p, freedom, t) in [
            (0.975, 5.0, 2.570_581_8),
            (0.9999, 20.0, 4.538_5),
            (0.975, 200.0, 1.971_896),
            (0.999_95, 12.0, 5.694_5),
        ] {
            let got = t_quantile(p, freedom);
            assert!((got - t).abs() < 2e-3 * t, "{p} {freedom}: {got} for {t}");
        }
    }
}
