// Places along the vein: numbers in, numbers out. No document, no fetch.

// Index of the item of a sorted list that is nearest to a value.
export function nearestIndex(sorted, value) {
  let best = 0;
  for (let i = 1; i < sorted.length; i += 1) {
    if (Math.abs(sorted[i] - value) < Math.abs(sorted[best] - value)) best = i;
  }
  return best;
}

// Index of the point nearest to (x, y), and how far off it is.
export function nearestPoint(points, [x, y]) {
  let best = { index: 0, distance: Infinity };
  points.forEach(([px, py], index) => {
    const distance = Math.hypot(px - x, py - y);
    if (distance < best.distance) best = { index, distance };
  });
  return best;
}

// A value carried from one range to another along a straight line.
export function carried(value, [from0, from1], [to0, to1]) {
  return to0 + ((value - from0) / (from1 - from0)) * (to1 - to0);
}
