// Bearings in degrees: numbers in, numbers and words out.

export const degrees = (value) => (Math.round(value * 10) / 10).toFixed(1);

/** Into 0 (included) to 360 (not included). */
export const whole = (value) => ((value % 360) + 360) % 360;

/** How far two bearings are apart, 0 to 180. */
export const apart = (one, other) => Math.abs(((one - other + 540) % 360) - 180);

/** The circular mean of headings: that of 350 and 10 is 0. */
export function mean(headings) {
  const sum = (work) => headings.reduce((total, one) => total + work(one * Math.PI / 180), 0);
  return whole(Math.atan2(sum(Math.sin), sum(Math.cos)) * 180 / Math.PI);
}

/**
 * The magnetic heading of a phone's upper edge, or null. W3C Device Orientation: alpha turns anticlockwise about the
 * vertical, so the upper edge points along 360 - alpha from magnetic north, whatever the tilt up to 90 degrees.
 */
export function headingOf({ webkitCompassHeading, absolute, alpha }) {
  if (typeof webkitCompassHeading === "number") return webkitCompassHeading < 0 ? null : webkitCompassHeading;
  return absolute && alpha !== null ? whole(360 - alpha) : null;
}

/** Both norths of a bearing; a declination is positive where magnetic north lies east of true north. */
export function bothNorths({ bearing, isMagnetic, declination, compass }) {
  const magnetic = whole(isMagnetic ? bearing : bearing - declination);
  const real = whole(isMagnetic ? bearing + declination : bearing);
  const side = declination >= 0 ? "east" : "west";
  const poor = compass === "good" ? "" : ` So near the magnetic pole a compass is ${compass}.`;
  const between = `declination ${degrees(Math.abs(declination))}° ${side}`;
  return `Compass ${degrees(magnetic)}°, true ${degrees(real)}° (${between}).${poor}`;
}
