/* A ball measured from its densities: Σ ρ J, as geometry/mass_properties.py does, and figures as
   they are printed. Inside: cm, g, g/cm³, rad. `data` and `units` are the page's, of trial.js. */

/* Figures as they are printed: the shortest decimal of the double, rounded half to even. */

function fixed(value, digits) {
  const [, sign, whole, part = "", power = "0"] =
    /^(-?)(\d+)(?:\.(\d+))?(?:e([+-]\d+))?$/.exec(String(value));
  const all = BigInt(whole + part);
  const shift = digits + Number(power) - part.length;
  let count = all * 10n ** BigInt(Math.max(shift, 0));
  if (shift < 0) {
    const one = 10n ** BigInt(-shift);
    const twice = 2n * (all % one);
    count = all / one;
    if (twice > one || (twice === one && count % 2n === 1n)) count += 1n;
  }
  const text = String(count).padStart(digits + 1, "0");
  const told = digits ? `${text.slice(0, -digits)}.${text.slice(-digits)}` : text;
  return sign && count ? `-${told}` : told;
}

const number = (value, unit, more = 0) => fixed(value / unit.factor, unit.digits + more);
const told = (value, unit, more = 0) => `${number(value, unit, more)} ${unit.name}`;

/* A unit with as many digits more as it takes to tell two figures apart, 9 at most. */
function parting(a, b, unit) {
  const finer = [...Array(10).keys()].map((more) => ({ ...unit, digits: unit.digits + more }));
  return finer.find((one) => number(a, one) !== number(b, one)) ?? unit;
}

/* Eigenvalues of a symmetric 3×3 matrix, least first, with their vectors: Jacobi's rotations. */
function principal(matrix) {
  const a = matrix.map((row) => [...row]);
  const v = [[1, 0, 0], [0, 1, 0], [0, 0, 1]];
  for (let sweep = 0; sweep < 30 && (a[0][1] || a[0][2] || a[1][2]); sweep += 1) {
    for (const [p, q] of [[0, 1], [0, 2], [1, 2]]) {
      if (a[p][q] === 0) continue;
      const theta = (a[q][q] - a[p][p]) / (2 * a[p][q]);
      const t = (theta < 0 ? -1 : 1) / (Math.abs(theta) + Math.hypot(theta, 1));
      const c = 1 / Math.hypot(t, 1);
      const s = t * c;
      for (const row of [...a, ...v]) {
        [row[p], row[q]] = [c * row[p] - s * row[q], s * row[p] + c * row[q]];
      }
      for (let k = 0; k < 3; k += 1) {
        [a[p][k], a[q][k]] = [c * a[p][k] - s * a[q][k], s * a[p][k] + c * a[q][k]];
      }
      a[p][q] = a[q][p] = 0;
    }
  }
  return [0, 1, 2]
    .map((k) => ({ value: a[k][k], vector: v.map((row) => row[k]) }))
    .sort((one, other) => one.value - other.value);
}

/* Radii of gyration about `point`, least first, with their axes. */
function gyration(second, first, mass, point) {
  const S = second.map((row, i) => row.map(
    (value, j) => value - first[i] * point[j] - point[i] * first[j] + mass * point[i] * point[j],
  ));
  const trace = S[0][0] + S[1][1] + S[2][2];
  const inertia = S.map((row, i) => row.map((value, j) => (i === j ? trace : 0) - value));
  return principal(inertia).map(
    ({ value, vector }) => ({ radius: Math.sqrt(Math.max(value, 0) / mass), vector }),
  );
}

function measured(weight, densities) {
  const sum = weight.moments[0].map(
    (_, k) => weight.moments.reduce((total, region, i) => total + densities[i] * region[k], 0),
  );
  const [xx, xy, xz, x, yy, yz, y, zz, z, mass] = sum;
  const first = [x, y, z];
  const cg = first.map((moment) => moment / mass);
  const point = data.about === "cg" ? cg : [0, 0, 0];
  const axes = gyration([[xx, xy, xz], [xy, yy, yz], [xz, yz, zz]], first, mass, point);
  const [low, middle, high] = axes.map(({ radius }) => radius);
  const axis = (k) => {
    const others = [low, middle, high].filter((_, i) => i !== k);
    const apart = Math.min(...others.map((radius) => Math.abs(radius - axes[k].radius)));
    return apart > data.axis_gap ? axes[k].vector : null;
  };
  const lowest = axis(0);
  const tilt = lowest && Math.atan2(Math.hypot(lowest[0], lowest[1]), Math.abs(lowest[2]));
  const off = x || y || z ? Math.atan2(Math.hypot(x, y), z) : 0;
  return {
    weight: mass,
    rg: low,
    "intermediate RG": middle,
    "high RG": high,
    differential: high - low,
    intermediate_differential: high - middle,
    cg,
    cg_offset: Math.hypot(...cg),
    top_weight: Math.hypot(...first) / weight.arm,
    pin_distance: weight.radius * off,
    pin_marking: tilt === null ? null : weight.radius * tilt,
    tilt,
    highest: axis(2),
  };
}

/* The figure that a limit speaks of, or null where there is none at these densities. */
function value(limit, ball, densities) {
  const [one, other] = limit.parts;
  if (limit.figure === "density") return densities[one];
  if (limit.figure === "density_step") return densities[one] - densities[other];
  return limit.value ?? ball[limit.figure];
}

/* A ball, and those with one density each moved by as much as stating it can. */
function nearby(weight, densities) {
  const at = (some) => ({ ball: measured(weight, some), densities: some });
  const nudged = densities.map((_, moved) => at(
    densities.map((density, k) => (k === moved ? density + data.rounding : density)),
  ));
  return { ...at(densities), nudged };
}
