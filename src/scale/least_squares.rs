//! Robust nonlinear least squares for a handful of parameters (Levenberg and Marquardt, with
//! Huber's weights), and the covariance of what comes out.

use nalgebra::{DMatrix, DVector};

/// What came out of a fit.
#[derive(Clone, Debug)]
pub(super) struct Fit {
    /// The parameters.
    pub(super) parameters: DVector<f64>,
    /// Their covariance, from the residuals' own scatter.
    pub(super) covariance: DMatrix<f64>,
    /// The residuals, in the order given.
    pub(super) residuals: DVector<f64>,
}

/// Huber's limit, in standard deviations: 95 % as good as plain least squares on normal noise.
const HUBER: f64 = 1.345;

/// Step of the numerical derivatives, for parameters of the order of one.
const STEP: f64 = 1e-6;

const MOST_STEPS: usize = 60;
const REWEIGHTINGS: usize = 6;

/// Fits parameters, each of the order of one.
///
/// `data` are residuals of unknown, equal scatter; `priors` are (index, expected, standard
/// deviation) of parameters that are known beforehand. `least_sigma` is the least scatter that is
/// believed.
pub(super) fn fit(
    start: DVector<f64>,
    data: &dyn Fn(&DVector<f64>) -> DVector<f64>,
    priors: &[(usize, f64, f64)],
    least_sigma: f64,
) -> Option<Fit> {
    let mut parameters = start;
    let mut sigma = scatter(&data(&parameters), 0, least_sigma);
    let mut weights = DVector::from_element(data(&parameters).len(), 1.0);
    for _ in 0..REWEIGHTINGS {
        parameters = minimise(parameters, data, priors, &weights, sigma)?;
        let residuals = data(&parameters);
        sigma = scatter(&residuals, parameters.len(), least_sigma);
        weights = residuals.map(|r| {
            let off = r.abs() / (HUBER * sigma);
            if off <= 1.0 { 1.0 } else { 1.0 / off }
        });
    }
    let residuals = data(&parameters);
    let normal = normal_matrix(&parameters, data, priors, &weights, sigma).0;
    // With parameters nearly unknown the matrix is nearly singular: no fit then.
    let covariance = normal.try_inverse()? * (sigma * sigma);
    let right = parameters
        .iter()
        .chain(covariance.iter())
        .all(|v| v.is_finite());
    right.then_some(Fit {
        parameters,
        covariance,
        residuals,
    })
}

/// Robust standard deviation of residuals after so many parameters were fitted.
fn scatter(residuals: &DVector<f64>, fitted: usize, least: f64) -> f64 {
    let mut sizes: Vec<f64> = residuals.iter().map(|r| r.abs()).collect();
    if sizes.is_empty() {
        return least;
    }
    let middle = sizes.len() / 2;
    let (_, &mut median, _) = sizes.select_nth_unstable_by(middle, f64::total_cmp);
    #[expect(clippy::cast_precision_loss, reason = "counts of residuals")]
    let (n, free) = (
        sizes.len() as f64,
        sizes.len().saturating_sub(fitted).max(1) as f64,
    );
    // With hardly more data than parameters the residuals say little: the median shrinks more
    // than the root of the freedom, so the plain scatter counts if it is larger.
    let plain = (residuals.norm_squared() / free).sqrt();
    let robust = 1.4826 * median * (n / free).sqrt();
    if free < 0.5 * n {
        robust.max(plain).max(least)
    } else {
        robust.max(least)
    }
}

fn minimise(
    mut parameters: DVector<f64>,
    data: &dyn Fn(&DVector<f64>) -> DVector<f64>,
    priors: &[(usize, f64, f64)],
    weights: &DVector<f64>,
    sigma: f64,
) -> Option<DVector<f64>> {
    let cost = |p: &DVector<f64>| {
        let from_data: f64 = data(p)
            .iter()
            .zip(weights.iter())
            .map(|(r, w)| w * r * r)
            .sum();
        let from_priors: f64 = priors
            .iter()
            .map(|&(i, expected, sd)| (sigma * (p[i] - expected) / sd).powi(2))
            .sum();
        from_data + from_priors
    };
    let mut damping = 1e-3;
    let mut best = cost(&parameters);
    for _ in 0..MOST_STEPS {
        let (normal, gradient) = normal_matrix(&parameters, data, priors, weights, sigma);
        let mut damped = normal.clone();
        for i in 0..parameters.len() {
            damped[(i, i)] += damping * normal[(i, i)].max(1e-12);
        }
        let Some(step) = damped.lu().solve(&gradient) else {
            damping *= 10.0;
            continue;
        };
        let next = &parameters - &step;
        let reached = cost(&next);
        if reached.is_finite() && reached <= best {
            let gained = best - reached;
            parameters = next;
            best = reached;
            damping = (damping * 0.2).max(1e-12);
            if gained <= 1e-12 * (best + 1e-30) || step.norm() < 1e-12 {
                break;
            }
        } else {
            damping *= 8.0;
            if damping > 1e12 {
                break;
            }
        }
    }
    parameters
        .iter()
        .all(|v| v.is_finite())
        .then_some(parameters)
}

/// The normal matrix and the gradient of weighted squares, priors included.
fn normal_matrix(
    parameters: &DVector<f64>,
    data: &dyn Fn(&DVector<f64>) -> DVector<f64>,
    priors: &[(usize, f64, f64)],
    weights: &DVector<f64>,
    sigma: f64,
) -> (DMatrix<f64>, DVector<f64>) {
    let residuals = data(parameters);
    let mut jacobian = DMatrix::zeros(residuals.len(), parameters.len());
    for i in 0..parameters.len() {
        let (mut above, mut below) = (parameters.clone(), parameters.clone());
        above[i] += STEP;
        below[i] -= STEP;
        let slope = (data(&above) - data(&below)) / (2.0 * STEP);
        jacobian.set_column(i, &slope);
    }
    let mut weighted = jacobian.clone();
    for (mut row, &w) in weighted.row_iter_mut().zip(weights.iter()) {
        row *= w;
    }
    let mut normal = jacobian.transpose() * &weighted;
    let mut gradient = weighted.transpose() * &residuals;
    for &(i, expected, sd) in priors {
        let w = (sigma / sd).powi(2);
        normal[(i, i)] += w;
        gradient[i] += w * (parameters[i] - expected);
    }
    (normal, gradient)
}

/// One standard uncertainty of a figure that depends on fitted parameters.
pub(super) fn uncertainty(fit: &Fit, figure: &dyn Fn(&DVector<f64>) -> Option<f64>) -> Option<f64> {
    let mut slopes = DVector::zeros(fit.parameters.len());
    for i in 0..slopes.len() {
        let (mut above, mut below) = (fit.parameters.clone(), fit.parameters.clone());
        above[i] += STEP;
        below[i] -= STEP;
        slopes[i] = (figure(&above)? - figure(&below)?) / (2.0 * STEP);
    }
    let variance = slopes.dot(&(&fit.covariance * &slopes));
    variance.is_finite().then(|| variance.max(0.0).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_with_one_wild_point_keeps_its_slope_and_its_doubt() {
        let xs: Vec<f64> = (0..40).map(|i| f64::from(i) / 10.0).collect();
        let noise = |i: usize| 0.01 * [1.0, -1.0, 0.5, -0.5, 0.0][i * 7 % 5];
        let mut ys: Vec<f64> = xs.iter().map(|x| 0.5 + 2.0 * x).collect();
        for (i, y) in ys.iter_mut().enumerate() {
            *y += noise(i);
        }
        ys[20] += 3.0;
        let data = |p: &DVector<f64>| {
            DVector::from_iterator(
                xs.len(),
                xs.iter().zip(&ys).map(|(x, y)| p[0] + p[1] * x - y),
            )
        };
        let fit = fit(DVector::from_vec(vec![0.0, 0.0]), &data, &[], 1e-6).expect("it fits");
        assert!(
            (fit.parameters[1] - 2.0).abs() < 0.005,
            "{}",
            fit.parameters
        );
        let slope_u = uncertainty(&fit, &|p| Some(p[1])).expect("a doubt");
        // s / √(n var x), s near 0.007.
        assert!((0.0005..0.0025).contains(&slope_u), "{slope_u}");
    }

    #[test]
    fn a_prior_holds_what_the_data_leave_open() {
        let data = |p: &DVector<f64>| DVector::from_vec(vec![p[0] - 3.0; 5]);
        let start = DVector::from_vec(vec![0.0, 0.0]);
        let fit = fit(start, &data, &[(1, 0.7, 0.1)], 0.01).expect("it fits");
        assert!((fit.parameters[1] - 0.7).abs() < 1e-6);
        assert!((fit.covariance[(1, 1)].sqrt() - 0.1).abs() < 1e-6);
    }
}
