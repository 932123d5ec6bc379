//! Containers and what they may hold: the rows of `data/bottles.toml`.

use std::sync::LazyLock;

use quantity::{CarbonDioxide, GaugePressure, Source};

use crate::error::{PackageError, find};

/// A class of containers.
#[derive(Debug, Clone, PartialEq)]
pub struct Container {
    /// The key that documents use.
    pub key: String,
    /// Its name.
    pub name: String,
    /// What it is.
    pub kind: ContainerKind,
    /// How much gas the beer in it may hold; kegs go by pressure alone.
    pub gas: Option<GasLimits>,
    /// The gauge pressure it should never pass; none if not made for any.
    pub service: Option<GaugePressure>,
    /// Where the row comes from.
    pub source: Source,
}

/// What a container is made as.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ContainerKind {
    /// A glass bottle made for carbonated drinks.
    Glass,
    /// A plastic bottle made for carbonated drinks.
    Plastic,
    /// A can.
    Can,
    /// A keg or another vessel with a stamp and a relief valve.
    Keg,
    /// Not a pressure vessel.
    NotForPressure,
}

/// CO₂ that the beer in a container may hold.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GasLimits {
    /// The aim from which to look twice.
    pub warn: CarbonDioxide,
    /// The highest aim.
    pub limit: CarbonDioxide,
    /// The most that the worst case may reach.
    pub refuse: CarbonDioxide,
}

impl Container {
    /// All containers of the table.
    #[must_use]
    pub fn all() -> &'static [Self] {
        &CONTAINERS
    }

    /// The container with a key.
    ///
    /// # Errors
    /// [`PackageError::UnknownKey`] with the nearest key.
    pub fn find(key: &str) -> Result<&'static Self, PackageError> {
        find("container", &CONTAINERS, |container| &container.key, key)
    }

    /// The gauge pressure it should never pass.
    ///
    /// # Errors
    /// [`PackageError::NotForPressure`] if it is not made for any.
    pub fn service_pressure(&self) -> Result<GaugePressure, PackageError> {
        self.service.ok_or_else(|| PackageError::NotForPressure {
            name: self.name.clone(),
        })
    }
}

impl ContainerKind {
    /// The word in the data file and in messages.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Glass => "glass",
            Self::Plastic => "plastic",
            Self::Can => "can",
            Self::Keg => "keg",
            Self::NotForPressure => "not for pressure",
        }
    }
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    container: Vec<Row>,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    key: String,
    name: String,
    kind: Kind,
    warn: Option<String>,
    limit: Option<String>,
    refuse: Option<String>,
    service: Option<String>,
    source: String,
    mark: String,
}

#[derive(serde::Deserialize)]
#[serde(rename_all = "lowercase")]
enum Kind {
    Glass,
    Plastic,
    Can,
    Keg,
    #[serde(rename = "not for pressure")]
    NotForPressure,
}

const FILE: &str = "bottles.toml";

static CONTAINERS: LazyLock<Vec<Container>> = LazyLock::new(|| {
    let file: File = quantity::data::builtin(FILE, include_str!("../data/bottles.toml"));
    file.container.into_iter().map(container).collect()
});

fn container(row: Row) -> Container {
    let gas = |text: &Option<String>| {
        text.as_deref()
            .map(|t| quantity::data::quantity::<CarbonDioxide>(FILE, &row.key, t))
    };
    let gas_limits = match (gas(&row.warn), gas(&row.limit), gas(&row.refuse)) {
        (Some(warn), Some(limit), Some(refuse)) => Some(GasLimits {
            warn,
            limit,
            refuse,
        }),
        _ => None,
    };
    Container {
        gas: gas_limits,
        service: row
            .service
            .as_deref()
            .map(|t| quantity::data::quantity(FILE, &row.key, t)),
        kind: match row.kind {
            Kind::Glass => ContainerKind::Glass,
            Kind::Plastic => ContainerKind::Plastic,
            Kind::Can => ContainerKind::Can,
            Kind::Keg => ContainerKind::Keg,
            Kind::NotForPressure => ContainerKind::NotForPressure,
        },
        source: Source {
            text: row.source,
            mark: quantity::data::mark(FILE, &row.key, &row.mark),
        },
        key: row.key,
        name: row.name,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pressure::{Fill, final_pressure};
    use quantity::{Altitude, Temperature, Volume};

    #[test]
    fn every_row_is_sound_and_has_its_own_key() {
        for (i, container) in Container::all().iter().enumerate() {
            assert!(!container.source.text.is_empty() && !container.name.is_empty());
            assert!(
                Container::all()
                    .iter()
                    .skip(i + 1)
                    .all(|c| c.key != container.key)
            );
            if let Some(gas) = container.gas {
                assert!(
                    gas.warn < gas.limit && gas.limit <= gas.refuse,
                    "{}",
                    container.key
                );
            }
        }
    }

    #[test]
    fn kinds_carry_what_their_verdict_needs() {
        for container in Container::all() {
            let (gas, service) = (container.gas.is_some(), container.service.is_some());
            let expected = match container.kind {
                ContainerKind::NotForPressure => (false, false),
                ContainerKind::Keg => (false, true),
                _ => (true, true),
            };
            assert_eq!((gas, service), expected, "{}", container.key);
        }
    }

    /// Half of the 12 bar proof of the Chinese national standard GB 4544 is
    /// what 3.0 volumes reach at 40 °C: 6.02 bar, computed with CoolProp 8.0.
    /// The service lines of the bottles are their limits on the same footing.
    #[test]
    fn service_lines_are_the_limits_in_a_hot_room() {
        let fill = Fill::with_air(Volume::from_l(0.330), Volume::from_l(0.015));
        for (key, temp_c) in [
            ("unknown", 40.0),
            ("standard-crown", 40.0),
            ("heavy-returnable", 40.0),
            ("heavy-ale", 40.0),
            ("swing-top", 40.0),
            ("pet", 40.0),
            ("champagne", 25.0),
        ] {
            let container = Container::find(key).unwrap();
            let hot = final_pressure(
                container.gas.unwrap().limit,
                &fill,
                Temperature::from_c(20.0),
                Temperature::from_c(temp_c),
                Altitude::from_m(0.0),
            );
            let apart = hot.unwrap().bar() - container.service.unwrap().bar();
            assert!(apart.abs() < 0.06, "{key}: {apart}");
        }
    }

    #[test]
    fn what_is_not_for_pressure_is_refused() {
        for key in ["growler", "wine-bottle", "preserving-jar", "carboy"] {
            let error = Container::find(key)
                .unwrap()
                .service_pressure()
                .unwrap_err();
            assert!(error.to_string().contains("can burst"), "{error}");
        }
    }
}
