//! The air that a ball flies through: density and viscosity from temperature,
//! pressure, humidity and altitude, and a steady level wind.
//!
//! Start at [`Air`]; [`Conditions`] holds all that a flight needs besides the ball.

use serde::{Deserialize, Serialize};

use super::error::{FlightError, Limits};

/// Still-standing properties of air.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Air {
    /// Density, kg/m3.
    pub density_kgpm3: f64,
    /// Dynamic viscosity, Pa s.
    pub viscosity_pas: f64,
}

impl Default for Air {
    fn default() -> Self {
        Self::STANDARD
    }
}

/// Weather at the place of play.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Weather {
    /// Temperature, degrees Celsius.
    pub temperature_c: f64,
    /// Pressure at the place itself (not reduced to sea level), hPa.
    pub pressure_hpa: f64,
    /// Relative humidity, percent.
    pub humidity_percent: f64,
}

const REMEDY: &str = "check the unit";
const ALTITUDE: Limits = Limits {
    what: "altitude",
    unit: "m",
    low: -500.0,
    high: 6_000.0,
    reason: "from the lowest shore to above the highest courses",
    remedy: REMEDY,
};
const TEMPERATURE: Limits = Limits {
    what: "temperature",
    unit: "degC",
    low: -30.0,
    high: 55.0,
    reason: "colder or hotter than golf is played in",
    remedy: REMEDY,
};
const PRESSURE: Limits = Limits {
    what: "air pressure",
    unit: "hPa",
    low: 450.0,
    high: 1_100.0,
    reason: "from 6000 m up to the highest at sea level",
    remedy: "give the pressure at the place, in hPa",
};
const HUMIDITY: Limits = Limits {
    what: "humidity",
    unit: "%",
    low: 0.0,
    high: 100.0,
    reason: "a share of saturation",
    remedy: REMEDY,
};

impl Air {
    /// 15 degC at sea level, dry: 1.225 kg/m3 (ISO 2533:1975; sources.md 7.2, F11, status L2).
    pub const STANDARD: Self = Self { density_kgpm3: 1.225, viscosity_pas: 1.789_4e-5 };

    /// Air of the standard atmosphere at an altitude, m (ISO 2533:1975; F11, status L2).
    ///
    /// # Errors
    /// [`FlightError::OutOfRange`] for an altitude outside -500..6000 m.
    pub fn standard_at(altitude_m: f64) -> Result<Self, FlightError> {
        ALTITUDE.check(altitude_m)?;
        let kelvin = 288.15 - 0.006_5 * altitude_m;
        // g M / (R L) = 5.255 88, so density falls with the power 4.255 88.
        let density_kgpm3 = 1.225 * libm::pow(kelvin / 288.15, 4.255_88);
        Ok(Self { density_kgpm3, viscosity_pas: sutherland(kelvin) })
    }

    /// Air of a given weather.
    ///
    /// Density by the simplified formula of OIML R 111 (sources.md F12, status M),
    /// viscosity of dry air by Sutherland's formula (ISO 2533:1975).
    ///
    /// # Errors
    /// [`FlightError::OutOfRange`] for weather that golf isn't played in.
    pub fn of_weather(weather: &Weather) -> Result<Self, FlightError> {
        TEMPERATURE.check(weather.temperature_c)?;
        PRESSURE.check(weather.pressure_hpa)?;
        HUMIDITY.check(weather.humidity_percent)?;
        let (t, h) = (weather.temperature_c, weather.humidity_percent);
        let kelvin = 273.15 + t;
        let density_kgpm3 = (0.348_48 * weather.pressure_hpa - 0.009 * h * libm::exp(0.061 * t)) / kelvin;
        Ok(Self { density_kgpm3, viscosity_pas: sutherland(kelvin) })
    }
}

/// Pressure of the standard atmosphere at an altitude, hPa, where nobody read a
/// barometer (ISO 2533:1975).
///
/// # Errors
/// [`FlightError::OutOfRange`] for an altitude outside -500..6000 m.
pub fn standard_pressure_hpa(altitude_m: f64) -> Result<f64, FlightError> {
    ALTITUDE.check(altitude_m)?;
    Ok(1_013.25 * libm::pow(1.0 - 0.006_5 * altitude_m / 288.15, 5.255_88))
}

/// What somebody says of the air at a place; nothing need be said.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Told {
    /// Temperature, degrees Celsius.
    pub temperature_c: Option<f64>,
    /// Pressure at the place itself, hPa.
    pub pressure_hpa: Option<f64>,
    /// Relative humidity, percent.
    pub humidity_percent: Option<f64>,
    /// Altitude, m: it stands in for a temperature or a pressure that nobody read.
    pub altitude_m: Option<f64>,
}

impl Told {
    /// The air that this comes to. What is not said is that of the standard
    /// atmosphere at the altitude: 15 degC and 1013.25 hPa at sea level, dry.
    ///
    /// # Errors
    /// [`FlightError::OutOfRange`] for weather that golf isn't played in.
    pub fn air(&self) -> Result<Air, FlightError> {
        let altitude_m = self.altitude_m.unwrap_or(0.0);
        if self.temperature_c.is_none() && self.pressure_hpa.is_none() && self.humidity_percent.is_none() {
            return if self.altitude_m.is_none() { Ok(Air::STANDARD) } else { Air::standard_at(altitude_m) };
        }
        let standard_hpa = standard_pressure_hpa(altitude_m)?;
        Air::of_weather(&Weather {
            temperature_c: self.temperature_c.unwrap_or(15.0 - 0.006_5 * altitude_m),
            pressure_hpa: self.pressure_hpa.unwrap_or(standard_hpa),
            humidity_percent: self.humidity_percent.unwrap_or(0.0),
        })
    }
}

/// Viscosity of dry air, Pa s, by Sutherland's formula with the constants of ISO 2533:1975.
fn sutherland(kelvin: f64) -> f64 {
    1.458e-6 * kelvin * kelvin.sqrt() / (kelvin + 110.4)
}

/// All that a flight meets besides the ball.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Conditions {
    /// The air.
    pub air: Air,
    /// Wind along the target line, m/s: positive from behind.
    pub tail_wind_mps: f64,
    /// Wind across, m/s: positive blows to the right.
    pub cross_wind_mps: f64,
    /// Height of the ball at the start, m.
    pub start_height_m: f64,
    /// Height of the ground where the ball lands, m.
    pub landing_height_m: f64,
}

impl Conditions {
    /// Whether every number is possible.
    ///
    /// # Errors
    /// [`FlightError::OutOfRange`] with the limit and its reason.
    pub fn check(&self) -> Result<(), FlightError> {
        let wind = |what| Limits {
            what,
            unit: "m/s",
            low: -40.0,
            high: 40.0,
            reason: "a hurricane begins at 33 m/s",
            remedy: REMEDY,
        };
        let height = |what| Limits {
            what,
            unit: "m",
            low: -200.0,
            high: 200.0,
            reason: "higher than any tee stands above its fairway",
            remedy: REMEDY,
        };
        Limits {
            what: "air density",
            unit: "kg/m3",
            low: 0.0,
            high: 2.0,
            reason: "cold air at the lowest shore has 1.6",
            remedy: REMEDY,
        }
        .check(self.air.density_kgpm3)?;
        Limits {
            what: "air viscosity",
            unit: "Pa s",
            low: 1e-6,
            high: 1e-4,
            reason: "air has 1.6e-5 to 2.0e-5",
            remedy: REMEDY,
        }
        .check(self.air.viscosity_pas)?;
        wind("wind along the target line").check(self.tail_wind_mps)?;
        wind("wind across the target line").check(self.cross_wind_mps)?;
        height("start height").check(self.start_height_m)?;
        height("landing height").check(self.landing_height_m)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_standard_atmosphere_thins_with_altitude_as_tabulated() {
        // sources.md F11 (ISO 2533:1975, status L2), 0.1 %.
        for (altitude, density) in [(0.0, 1.225), (1000.0, 1.112), (1500.0, 1.058), (2000.0, 1.007)] {
            let got = Air::standard_at(altitude).unwrap().density_kgpm3;
            assert!((got / density - 1.0).abs() < 1e-3, "{altitude} m: {got}");
        }
        let mu = Air::standard_at(0.0).unwrap().viscosity_pas;
        assert!((mu / 1.789e-5 - 1.0).abs() < 1e-3, "{mu}");
    }

    #[test]
    fn moist_air_has_the_density_of_the_metrologists_formula() {
        // sources.md F12 (status M), 0.001 kg/m3.
        let density = |temperature_c, humidity_percent| {
            Air::of_weather(&Weather { temperature_c, pressure_hpa: 1013.25, humidity_percent })
                .unwrap()
                .density_kgpm3
        };
        assert!((density(20.0, 50.0) - 1.1993).abs() < 1e-3);
        assert!((density(15.0, 0.0) - 1.2254).abs() < 1e-4);
        assert!(density(30.0, 90.0) < density(30.0, 0.0), "moist air is lighter");
    }

    #[test]
    fn pressure_by_altitude_and_weather_give_the_standard_atmosphere_together() {
        let pressure_hpa = standard_pressure_hpa(1500.0).unwrap();
        let weather = Weather { temperature_c: 15.0 - 0.0065 * 1500.0, pressure_hpa, humidity_percent: 0.0 };
        let (a, b) = (Air::of_weather(&weather).unwrap(), Air::standard_at(1500.0).unwrap());
        assert!((a.density_kgpm3 / b.density_kgpm3 - 1.0).abs() < 1e-3);
    }

    #[test]
    fn impossible_weather_is_refused_with_the_range() {
        let good = Weather { temperature_c: 15.0, pressure_hpa: 1013.0, humidity_percent: 50.0 };
        let said = Air::of_weather(&Weather { pressure_hpa: 29.92, ..good }).unwrap_err().to_string();
        assert!(said.contains("450 to 1100 hPa"), "{said}");
        assert!(Air::of_weather(&Weather { humidity_percent: f64::NAN, ..good }).is_err());
        assert!(Conditions { tail_wind_mps: 90.0, ..Conditions::default() }.check().is_err());
    }
}
