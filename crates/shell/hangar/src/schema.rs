//! How is it laid out in the file? Each migration is added at the end and never changed once it has been used.

use rusqlite_migration::{M, Migrations};

/// Marks the file as a hangar (SQLite's `application_id`): the letters "EYAS".
pub(crate) const APPLICATION_ID: u32 = 0x4559_4153;

/// Version of the tables after all migrations.
pub(crate) const VERSION: u32 = STEPS.len() as u32;

/// Rows are only ever added: a trigger on each table refuses to change or remove one, whoever asks.
const STEPS: &[M<'static>] = &[
    M::up(include_str!("schema/1.sql")),
    M::up(include_str!("schema/2.sql")),
    M::up(include_str!("schema/3.sql")),
    M::up(include_str!("schema/4.sql")),
    M::up(include_str!("schema/5.sql")),
    M::up(include_str!("schema/6.sql")),
];

/// All migrations, oldest first.
pub(crate) const MIGRATIONS: Migrations<'static> = Migrations::from_slice(STEPS);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_migration_is_valid_sql() {
        MIGRATIONS.validate().unwrap();
    }

    #[test]
    fn the_mark_spells_the_name() {
        assert_eq!(&APPLICATION_ID.to_be_bytes(), b"EYAS");
    }
}
