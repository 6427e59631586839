//! The kinds of quantity: their names, their dimensions, and the units each is customarily written in.
//!
//! One table holds all of it. The factors of the units are not here but in `atom.rs`; a unit is named by the text
//! that the reader understands, so a printed unit and a read unit cannot differ.

use super::family::UnitFamily;

/// Exponents of length, mass, time, temperature, electric current and plane angle.
pub(super) type Dimension = [i8; 6];

/// A unit of a family, used for magnitudes from `from_si` upwards.
#[derive(Clone, Copy, Debug)]
pub(super) struct Rung {
    pub symbol: &'static str,
    pub from_si: f64,
}

/// The units of one kind in one family.
#[derive(Clone, Copy, Debug)]
pub(super) struct Customary {
    /// The unit of a table column.
    pub column: &'static str,
    /// Units by ascending magnitude; the first begins at zero.
    pub rungs: &'static [Rung],
    /// Further units in which an exact text may be shorter.
    pub also: &'static [&'static str],
}

macro_rules! kinds {
    ($(
        $(#[$doc:meta])*
        $kind:ident $name:literal $noun:literal $dimension:tt $si:literal
        metric $m_example:literal $m_column:literal [$($m_symbol:literal $m_from:literal),+] [$($m_also:literal),*]
        us $u_example:literal $u_column:literal [$($u_symbol:literal $u_from:literal),+] [$($u_also:literal),*]
    )+) => {
        /// What a quantity measures; it decides which units are accepted.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
        pub enum Kind {
            $($(#[$doc])* $kind,)+
        }

        impl Kind {
            /// Every kind, in order of declaration.
            pub const ALL: &'static [Kind] = &[$(Kind::$kind),+];

            /// The name in the schema, such as `volume_flow`.
            pub const fn name(self) -> &'static str {
                match self { $(Kind::$kind => $name,)+ }
            }

            /// The kind of that name, if there is one.
            pub fn from_name(name: &str) -> Option<Kind> {
                match name { $($name => Some(Kind::$kind),)+ _ => None }
            }

            /// The words of a message, such as `a length`.
            pub const fn noun(self) -> &'static str {
                match self { $(Kind::$kind => $noun,)+ }
            }

            /// A text of this kind as a builder would write it in that family.
            pub const fn example(self, family: UnitFamily) -> &'static str {
                match (self, family) {
                    $((Kind::$kind, UnitFamily::Metric) => $m_example,
                    (Kind::$kind, UnitFamily::Us) => $u_example,)+
                }
            }

            /// The coherent SI unit.
            pub(super) const fn si_symbol(self) -> &'static str {
                match self { $(Kind::$kind => $si,)+ }
            }

            pub(super) const fn dimension(self) -> Dimension {
                match self { $(Kind::$kind => $dimension,)+ }
            }

            pub(super) const fn customary(self, family: UnitFamily) -> Customary {
                match (self, family) {
                    $((Kind::$kind, UnitFamily::Metric) => Customary {
                        column: $m_column,
                        rungs: &[$(Rung { symbol: $m_symbol, from_si: $m_from }),+],
                        also: &[$($m_also),*],
                    },
                    (Kind::$kind, UnitFamily::Us) => Customary {
                        column: $u_column,
                        rungs: &[$(Rung { symbol: $u_symbol, from_si: $u_from }),+],
                        also: &[$($u_also),*],
                    },)+
                }
            }
        }
    };
}

kinds! {
    /// A length, SI unit m.
    Length "length" "a length" [1, 0, 0, 0, 0, 0] "m"
        metric "19 mm" "mm" ["mm" 0.0, "m" 1.0] ["cm", "km"]
        us "3/4 in" "in" ["in" 0.0, "ft" 0.9144] []
    /// An area, SI unit m2.
    Area "area" "an area" [2, 0, 0, 0, 0, 0] "m2"
        metric "280 mm2" "mm2" ["mm2" 0.0, "m2" 0.01] ["cm2"]
        us "0.44 in2" "in2" ["in2" 0.0, "ft2" 0.09290304] []
    /// A volume, SI unit m3.
    Volume "volume" "a volume" [3, 0, 0, 0, 0, 0] "m3"
        metric "6.5 L" "L" ["mL" 0.0, "L" 1e-4, "m3" 1.0] []
        us "1.7 US gal" "US gal" ["US fl oz" 0.0, "US gal" 9.46e-4] ["US qt"]
    /// A mass, SI unit kg.
    Mass "mass" "a mass" [0, 1, 0, 0, 0, 0] "kg"
        metric "25 kg" "kg" ["g" 0.0, "kg" 1.0] []
        us "55 lb" "lb" ["lb" 0.0] []
    /// A plane angle, SI unit rad.
    Angle "angle" "an angle" [0, 0, 0, 0, 0, 1] "rad"
        metric "90 deg" "deg" ["deg" 0.0] ["rad"]
        us "90 deg" "deg" ["deg" 0.0] ["rad"]
    /// A velocity, SI unit m/s.
    Velocity "velocity" "a velocity" [1, 0, -1, 0, 0, 0] "m/s"
        metric "35 km/h" "m/s" ["m/s" 0.0] ["km/h"]
        us "22 mph" "ft/s" ["ft/s" 0.0] ["mph", "ft/min"]
    /// A volume flow, SI unit m3/s.
    VolumeFlow "volume_flow" "a volume flow" [3, 0, -1, 0, 0, 0] "m3/s"
        metric "12 L/min" "L/min" ["L/min" 0.0, "m3/h" 0.01] ["L/h", "L/s", "m3/s"]
        us "3 gpm" "gpm" ["gpm" 0.0, "cfm" 0.0315] ["gph"]
    /// A mass flow, SI unit kg/s.
    MassFlow "mass_flow" "a mass flow" [0, 1, -1, 0, 0, 0] "kg/s"
        metric "0.2 kg/s" "kg/s" ["g/s" 0.0, "kg/s" 0.1] ["kg/min", "kg/h"]
        us "26 lb/min" "lb/min" ["lb/min" 0.0] ["lb/h", "lb/s"]
    /// A pressure rise or drop, SI unit Pa.
    PressureDifference "pressure_difference" "a pressure difference" [-1, 1, -2, 0, 0, 0] "Pa"
        metric "8.4 kPa" "kPa" ["Pa" 0.0, "kPa" 1000.0] ["bar", "mbar", "MPa"]
        us "1.2 psi" "psi" ["inH2O" 0.0, "psi" 689.4757] []
    /// A pressure above that of the surrounding air, SI unit Pa.
    GaugePressure "gauge_pressure" "a gauge pressure" [-1, 1, -2, 0, 0, 0] "Pa"
        metric "30 kPa" "kPa" ["kPa" 0.0] ["bar", "mbar", "MPa"]
        us "4.4 psi" "psi" ["psi" 0.0] ["inH2O"]
    /// A pressure above vacuum, SI unit Pa.
    AbsolutePressure "absolute_pressure" "an absolute pressure" [-1, 1, -2, 0, 0, 0] "Pa abs"
        metric "85 kPa abs" "kPa abs" ["kPa abs" 0.0] ["bar abs", "mbar abs", "MPa abs"]
        us "12.3 psia" "psia" ["psia" 0.0] []
    /// A gauge or an absolute pressure, whichever the text says; SI unit Pa.
    Pressure "pressure" "a pressure" [-1, 1, -2, 0, 0, 0] "Pa"
        metric "30 kPa" "kPa" ["kPa" 0.0] ["bar", "mbar", "MPa"]
        us "12.3 psia" "psi" ["psi" 0.0] ["inH2O"]
    /// A point on the temperature scale, SI unit K.
    Temperature "temperature" "a temperature" [0, 0, 0, 1, 0, 0] "K"
        metric "38 degC" "degC" ["degC" 0.0] []
        us "100 degF" "degF" ["degF" 0.0] []
    /// A rise, spread or margin of temperature, SI unit K.
    TemperatureDifference "temperature_difference" "a temperature difference" [0, 0, 0, 1, 0, 0] "K"
        metric "3 K" "K" ["K" 0.0] []
        us "5 F difference" "F difference" ["F difference" 0.0] []
    /// A heat flow or other power, SI unit W.
    Power "power" "a power" [2, 1, -3, 0, 0, 0] "W"
        metric "4.2 kW" "kW" ["W" 0.0, "kW" 1000.0] ["MW"]
        us "14000 Btu/h" "Btu/h" ["Btu/h" 0.0] ["hp", "ton cooling"]
    /// Heat per mass and kelvin, SI unit J/(kg K).
    SpecificHeat "specific_heat" "a specific heat" [2, 0, -2, -1, 0, 0] "J/(kg K)"
        metric "900 J/(kg K)" "J/(kg K)" ["J/(kg K)" 0.0] ["kJ/(kg K)"]
        us "0.21 Btu/(lb F)" "Btu/(lb F)" ["Btu/(lb F)" 0.0] []
    /// Heat per kelvin of a whole body, SI unit J/K.
    HeatCapacity "heat_capacity" "a heat capacity" [2, 1, -2, -1, 0, 0] "J/K"
        metric "22 kJ/K" "kJ/K" ["J/K" 0.0, "kJ/K" 1000.0] []
        us "12 Btu/F" "Btu/F" ["Btu/F" 0.0] []
    /// Kelvin per heat flow, SI unit K/W.
    ThermalResistance "thermal_resistance" "a thermal resistance" [-2, -1, 3, 1, 0, 0] "K/W"
        metric "0.03 K/W" "K/W" ["K/W" 0.0] []
        us "0.016 F h/Btu" "F h/Btu" ["F h/Btu" 0.0] []
    /// Heat flow per kelvin, SI unit W/K.
    ThermalConductance "thermal_conductance" "a thermal conductance" [2, 1, -3, -1, 0, 0] "W/K"
        metric "250 W/K" "W/K" ["W/K" 0.0, "kW/K" 10000.0] []
        us "470 Btu/(h F)" "Btu/(h F)" ["Btu/(h F)" 0.0] []
    /// Heat flow per area and kelvin, SI unit W/(m2 K).
    HeatTransferCoefficient "heat_transfer_coefficient" "a heat transfer coefficient" [0, 1, -3, -1, 0, 0] "W/(m2 K)"
        metric "1600 W/(m2 K)" "W/(m2 K)" ["W/(m2 K)" 0.0] []
        us "280 Btu/(h ft2 F)" "Btu/(h ft2 F)" ["Btu/(h ft2 F)" 0.0] []
    /// Heat flow per length and kelvin, SI unit W/(m K).
    ThermalConductivity "thermal_conductivity" "a thermal conductivity" [1, 1, -3, -1, 0, 0] "W/(m K)"
        metric "200 W/(m K)" "W/(m K)" ["W/(m K)" 0.0] []
        us "115 Btu/(h ft F)" "Btu/(h ft F)" ["Btu/(h ft F)" 0.0] []
    /// Mass per volume, SI unit kg/m3.
    Density "density" "a density" [-3, 1, 0, 0, 0, 0] "kg/m3"
        metric "1060 kg/m3" "kg/m3" ["kg/m3" 0.0] ["g/cm3"]
        us "66 lb/ft3" "lb/ft3" ["lb/ft3" 0.0] []
    /// Dynamic viscosity, SI unit Pa s.
    DynamicViscosity "dynamic_viscosity" "a dynamic viscosity" [-1, 1, -1, 0, 0, 0] "Pa s"
        metric "3.4 mPa s" "mPa s" ["mPa s" 0.0] ["Pa s"]
        us "3.4 cP" "cP" ["cP" 0.0] []
    /// Electric current, SI unit A.
    Current "current" "a current" [0, 0, 0, 0, 1, 0] "A"
        metric "140 A" "A" ["A" 0.0] ["mA"]
        us "140 A" "A" ["A" 0.0] ["mA"]
    /// Electrical resistance, SI unit ohm.
    ElectricalResistance "electrical_resistance" "an electrical resistance" [2, 1, -3, 0, -2, 0] "ohm"
        metric "2.4 mohm" "mohm" ["uohm" 0.0, "mohm" 1e-4, "ohm" 1.0] []
        us "2.4 mohm" "mohm" ["uohm" 0.0, "mohm" 1e-4, "ohm" 1.0] []
    /// Voltage, SI unit V.
    Voltage "voltage" "a voltage" [2, 1, -3, 0, -1, 0] "V"
        metric "400 V" "V" ["mV" 0.0, "V" 0.1] []
        us "400 V" "V" ["mV" 0.0, "V" 0.1] []
    /// A span of time, SI unit s.
    Duration "duration" "a duration" [0, 0, 1, 0, 0, 0] "s"
        metric "10 min" "min" ["s" 0.0, "min" 120.0, "h" 7200.0] []
        us "10 min" "min" ["s" 0.0, "min" 120.0, "h" 7200.0] []
    /// Pressure drop per air velocity, SI unit Pa s/m.
    LinearResistance "linear_resistance" "a pressure drop per velocity" [-2, 1, -1, 0, 0, 0] "Pa s/m"
        metric "9 Pa s/m" "Pa s/m" ["Pa s/m" 0.0] []
        us "0.011 inH2O s/ft" "inH2O s/ft" ["inH2O s/ft" 0.0] ["psi s/ft"]
    /// Pressure drop per velocity squared, SI unit Pa s2/m2.
    QuadraticResistance "quadratic_resistance" "a pressure drop per velocity squared" [-3, 1, 0, 0, 0, 0] "Pa s2/m2"
        metric "6 Pa s2/m2" "Pa s2/m2" ["Pa s2/m2" 0.0] []
        us "0.0022 inH2O s2/ft2" "inH2O s2/ft2" ["inH2O s2/ft2" 0.0] ["psi s2/ft2"]
    /// Change of cell voltage with temperature, SI unit V/K.
    EntropicCoefficient "entropic_coefficient" "an entropic coefficient" [2, 1, -3, -1, -1, 0] "V/K"
        metric "0.1 mV/K" "mV/K" ["mV/K" 0.0] ["V/K"]
        us "0.1 mV/K" "mV/K" ["mV/K" 0.0] ["mV/F"]
    /// Energy or heat, SI unit J.
    Energy "energy" "an energy" [2, 1, -2, 0, 0, 0] "J"
        metric "900 kJ" "kJ" ["J" 0.0, "kJ" 1000.0, "MJ" 1e6] ["Wh", "kWh"]
        us "850 Btu" "Btu" ["Btu" 0.0] ["Wh", "kWh"]
    /// Rotational speed, SI unit rad/s.
    RotationalSpeed "rotational_speed" "a rotational speed" [0, 0, -1, 0, 0, 1] "rad/s"
        metric "2800 rpm" "rpm" ["rpm" 0.0] ["rad/s"]
        us "2800 rpm" "rpm" ["rpm" 0.0] ["rad/s"]
}

impl Kind {
    /// True for the kinds that are a pressure per power of velocity: their unit must name a pressure, because by
    /// dimension alone `Pa s2/m2` is a density.
    pub(super) const fn is_resistance(self) -> bool {
        matches!(self, Kind::LinearResistance | Kind::QuadraticResistance)
    }

    /// True for the four kinds of pressure.
    pub(super) const fn is_pressure(self) -> bool {
        matches!(
            self,
            Kind::PressureDifference
                | Kind::GaugePressure
                | Kind::AbsolutePressure
                | Kind::Pressure
        )
    }

    /// True for a temperature point or difference.
    pub(super) const fn is_temperature(self) -> bool {
        matches!(self, Kind::Temperature | Kind::TemperatureDifference)
    }
}
