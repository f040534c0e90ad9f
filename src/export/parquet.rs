//! Apache Parquet, column by column.

use std::io;
use std::sync::Arc;

use parquet::basic::{ConvertedType, LogicalType, Repetition, Type as Physical};
use parquet::data_type::{BoolType, ByteArray, ByteArrayType, DataType, DoubleType, Int32Type, Int64Type};
use parquet::errors::ParquetError;
use parquet::file::properties::WriterProperties;
use parquet::file::writer::{SerializedFileWriter, SerializedRowGroupWriter};
use parquet::schema::types::Type;

use super::{Cell, Column, Kind, Sink};
use crate::record::Date;
use crate::write::Pending;

/// Rows held before they are written as one row group.
const ROWS_AT_ONCE: usize = 50_000;

/// A file being written.
pub struct Parquet {
    writer: SerializedFileWriter<Pending>,
    kinds: Vec<Kind>,
    rows: Vec<Vec<Cell>>,
}

impl Parquet {
    /// Begins with the schema: every column may be empty.
    pub fn begin(pending: Pending, columns: &[Column]) -> io::Result<Parquet> {
        let field = |column: &Column| {
            let (physical, logical) = match column.kind {
                Kind::Text => (Physical::BYTE_ARRAY, Some(LogicalType::String)),
                Kind::Number => (Physical::DOUBLE, None),
                Kind::Whole => (Physical::INT64, None),
                Kind::Flag => (Physical::BOOLEAN, None),
                Kind::Day => (Physical::INT32, Some(LogicalType::Date)),
            };
            let builder = Type::primitive_type_builder(column.name, physical).with_repetition(Repetition::OPTIONAL);
            builder.with_converted_type(ConvertedType::NONE).with_logical_type(logical).build().map(Arc::new)
        };
        let fields = columns.iter().map(field).collect::<Result<Vec<_>, _>>().map_err(failed)?;
        let schema = Type::group_type_builder("row").with_fields(fields).build().map_err(failed)?;
        let properties = Arc::new(WriterProperties::builder().set_created_by("ampledger".to_owned()).build());
        let writer = SerializedFileWriter::new(pending, Arc::new(schema), properties).map_err(failed)?;
        Ok(Parquet { writer, kinds: columns.iter().map(|column| column.kind).collect(), rows: Vec::new() })
    }

    fn flush(&mut self) -> io::Result<()> {
        if self.rows.is_empty() {
            return Ok(());
        }
        let mut group = self.writer.next_row_group().map_err(failed)?;
        for (index, kind) in self.kinds.iter().enumerate() {
            let cells = self.rows.iter().map(|row| row.get(index).unwrap_or(&Cell::Empty));
            let outcome = match kind {
                Kind::Text => column::<ByteArrayType>(&mut group, cells, |cell| match cell {
                    Cell::Text(text) => Some(ByteArray::from(text.as_str())),
                    _ => None,
                }),
                Kind::Number => {
                    column::<DoubleType>(&mut group, cells, |cell| if let Cell::Number(number) = cell { Some(*number) } else { None })
                }
                Kind::Whole => {
                    column::<Int64Type>(
                        &mut group,
                        cells,
                        |cell| if let Cell::Whole(number) = cell { Some(i64::from(*number)) } else { None },
                    )
                }
                Kind::Flag => column::<BoolType>(&mut group, cells, |cell| if let Cell::Flag(flag) = cell { Some(*flag) } else { None }),
                Kind::Day => column::<Int32Type>(&mut group, cells, |cell| if let Cell::Day(day) = cell { Some(days(*day)) } else { None }),
            };
            outcome.map_err(failed)?;
        }
        group.close().map_err(failed)?;
        self.rows.clear();
        Ok(())
    }
}

impl Sink for Parquet {
    fn row(&mut self, row: &[Cell]) -> io::Result<()> {
        self.rows.push(row.to_vec());
        if self.rows.len() < ROWS_AT_ONCE { Ok(()) } else { self.flush() }
    }

    fn close(mut self: Box<Self>) -> io::Result<Pending> {
        self.flush()?;
        self.writer.into_inner().map_err(failed)
    }
}

/// Writes the next column of a row group: the values that are there, and for each row whether it has one.
fn column<'c, T: DataType>(
    group: &mut SerializedRowGroupWriter<'_, Pending>,
    cells: impl Iterator<Item = &'c Cell>,
    value: impl Fn(&Cell) -> Option<T::T>,
) -> Result<(), ParquetError> {
    let Some(mut writer) = group.next_column()? else { return Ok(()) };
    let cells: Vec<Option<T::T>> = cells.map(value).collect();
    let there: Vec<i16> = cells.iter().map(|cell| i16::from(cell.is_some())).collect();
    let values: Vec<T::T> = cells.into_iter().flatten().collect();
    writer.typed::<T>().write_batch(&values, Some(&there), None)?;
    writer.close()
}

/// Days since 1970-01-01.
fn days(day: Date) -> i32 {
    day.days_since(Date(jiff::civil::date(1970, 1, 1)))
}

fn failed(error: ParquetError) -> io::Error {
    io::Error::other(error)
}
