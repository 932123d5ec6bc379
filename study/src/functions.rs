//! The aggregate functions of the study, as the engine calls them: on one machine or on
//! many, each hands on what it has so far and takes in what others have.

use std::sync::Arc;

use datafusion::arrow::array::{Array, ArrayRef, AsArray, Float64Array};
use datafusion::arrow::datatypes::{DataType, Field, FieldRef, Float64Type, Int64Type};
use datafusion::common::{Result, ScalarValue, exec_datafusion_err};
use datafusion::logical_expr::function::{AccumulatorArgs, StateFieldsArgs};
use datafusion::logical_expr::{
    Accumulator, AggregateUDF, AggregateUDFImpl, Signature, TypeSignature, Volatility,
};

use crate::comoments::Comoments;
use crate::sketch::Sketch;

/// Every function of the study.
#[must_use]
pub fn functions() -> Vec<Arc<AggregateUDF>> {
    vec![
        Arc::new(AggregateUDF::from(ComomentsOf::default())),
        Arc::new(AggregateUDF::from(SketchOf::default())),
    ]
}

/// `comoments(x, …)`: count, means and products of deviations of one to three numbers
/// that belong together, as a list; rows that lack one of them are left out.
#[derive(Debug, PartialEq, Eq, Hash)]
struct ComomentsOf {
    signature: Signature,
}

impl Default for ComomentsOf {
    fn default() -> Self {
        let of = |n| TypeSignature::Exact(vec![DataType::Float64; n]);
        Self {
            signature: Signature::one_of((1..=3).map(of).collect(), Volatility::Immutable),
        }
    }
}

impl AggregateUDFImpl for ComomentsOf {
    fn name(&self) -> &'static str {
        "comoments"
    }

    fn signature(&self) -> &Signature {
        &self.signature
    }

    fn return_type(&self, _: &[DataType]) -> Result<DataType> {
        Ok(list_of(DataType::Float64))
    }

    fn state_fields(&self, _: StateFieldsArgs<'_>) -> Result<Vec<FieldRef>> {
        Ok(vec![Arc::new(Field::new(
            "comoments",
            list_of(DataType::Float64),
            true,
        ))])
    }

    fn accumulator(&self, args: AccumulatorArgs<'_>) -> Result<Box<dyn Accumulator>> {
        Ok(Box::new(ComomentsSoFar(Comoments::new(args.exprs.len()))))
    }
}

#[derive(Debug)]
struct ComomentsSoFar(Comoments);

impl Accumulator for ComomentsSoFar {
    fn update_batch(&mut self, values: &[ArrayRef]) -> Result<()> {
        let columns = values
            .iter()
            .map(|v| v.as_primitive_opt::<Float64Type>())
            .collect::<Option<Vec<&Float64Array>>>()
            .ok_or_else(|| exec_datafusion_err!("comoments takes numbers of Float64"))?;
        let rows = columns.first().map_or(0, |column| Array::len(*column));
        let mut row = vec![0.0; columns.len()];
        for at in 0..rows {
            if columns.iter().any(|c| c.is_null(at)) {
                continue;
            }
            for (number, column) in row.iter_mut().zip(&columns) {
                *number = column.value(at);
            }
            self.0.add(&row);
        }
        Ok(())
    }

    fn merge_batch(&mut self, states: &[ArrayRef]) -> Result<()> {
        for part in lists::<Float64Type>(states, "comoments")? {
            let part = Comoments::from_numbers(&part)
                .filter(|part| part.dims() == self.0.dims())
                .ok_or_else(|| exec_datafusion_err!("parts of comoments of another length"))?;
            self.0.merge(&part);
        }
        Ok(())
    }

    fn state(&mut self) -> Result<Vec<ScalarValue>> {
        Ok(vec![numbers(&self.0.to_numbers())])
    }

    fn evaluate(&mut self) -> Result<ScalarValue> {
        Ok(numbers(&self.0.to_numbers()))
    }

    fn size(&self) -> usize {
        size_of_val(self) + size_of_val(self.0.to_numbers().as_slice())
    }
}

/// `sketch(x)`: counts in bins of a bounded relative width, as a list of bin, count, bin,
/// count; [`sketch_of`] reads it.
#[derive(Debug, PartialEq, Eq, Hash)]
struct SketchOf {
    signature: Signature,
}

impl Default for SketchOf {
    fn default() -> Self {
        Self {
            signature: Signature::exact(vec![DataType::Float64], Volatility::Immutable),
        }
    }
}

impl AggregateUDFImpl for SketchOf {
    fn name(&self) -> &'static str {
        "sketch"
    }

    fn signature(&self) -> &Signature {
        &self.signature
    }

    fn return_type(&self, _: &[DataType]) -> Result<DataType> {
        Ok(list_of(DataType::Int64))
    }

    fn state_fields(&self, _: StateFieldsArgs<'_>) -> Result<Vec<FieldRef>> {
        Ok(vec![Arc::new(Field::new(
            "sketch",
            list_of(DataType::Int64),
            true,
        ))])
    }

    fn accumulator(&self, _: AccumulatorArgs<'_>) -> Result<Box<dyn Accumulator>> {
        Ok(Box::new(SketchSoFar(Sketch::default())))
    }
}

#[derive(Debug)]
struct SketchSoFar(Sketch);

impl Accumulator for SketchSoFar {
    fn update_batch(&mut self, values: &[ArrayRef]) -> Result<()> {
        let column = values
            .first()
            .and_then(|v| v.as_primitive_opt::<Float64Type>());
        let column =
            column.ok_or_else(|| exec_datafusion_err!("sketch takes numbers of Float64"))?;
        column.iter().flatten().for_each(|x| self.0.add(x));
        Ok(())
    }

    fn merge_batch(&mut self, states: &[ArrayRef]) -> Result<()> {
        for part in lists::<Int64Type>(states, "sketch")? {
            self.0.merge(&sketch_of(&part));
        }
        Ok(())
    }

    fn state(&mut self) -> Result<Vec<ScalarValue>> {
        Ok(vec![self.as_list()])
    }

    fn evaluate(&mut self) -> Result<ScalarValue> {
        Ok(self.as_list())
    }

    fn size(&self) -> usize {
        self.0.size()
    }
}

impl SketchSoFar {
    fn as_list(&self) -> ScalarValue {
        let (bins, counts) = self.0.to_parts();
        let pairs = bins.into_iter().zip(counts);
        // No study has 2⁶³ rows.
        let flat: Vec<ScalarValue> = pairs
            .flat_map(|(bin, count)| [bin, i64::try_from(count).unwrap_or(i64::MAX)])
            .map(ScalarValue::from)
            .collect();
        ScalarValue::List(ScalarValue::new_list_nullable(&flat, &DataType::Int64))
    }
}

/// The sketch that a list of bin, count, bin, count tells.
#[must_use]
pub fn sketch_of(list: &[i64]) -> Sketch {
    let pairs = list
        .chunks_exact(2)
        .map(|pair| (pair[0], pair[1].unsigned_abs()));
    let (bins, counts): (Vec<i64>, Vec<u64>) = pairs.unzip();
    Sketch::from_parts(&bins, &counts)
}

fn list_of(kind: DataType) -> DataType {
    DataType::List(Arc::new(Field::new_list_field(kind, true)))
}

fn numbers(all: &[f64]) -> ScalarValue {
    let all: Vec<ScalarValue> = all.iter().map(|x| ScalarValue::from(*x)).collect();
    ScalarValue::List(ScalarValue::new_list_nullable(&all, &DataType::Float64))
}

/// The lists of a column, those without one left out.
///
/// # Errors
/// Where the column holds something else.
pub(crate) fn lists<T>(columns: &[ArrayRef], of: &str) -> Result<Vec<Vec<T::Native>>>
where
    T: datafusion::arrow::datatypes::ArrowPrimitiveType,
{
    let wrong = || exec_datafusion_err!("{of} takes lists of its own parts");
    let column = columns
        .first()
        .and_then(|c| c.as_list_opt::<i32>())
        .ok_or_else(wrong)?;
    column
        .iter()
        .flatten()
        .map(|list| {
            let values = list.as_primitive_opt::<T>().ok_or_else(wrong)?;
            Ok(values.values().to_vec())
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use datafusion::arrow::array::Int64Array;
    use proptest::prelude::*;

    fn column(numbers: &[Option<f64>]) -> ArrayRef {
        Arc::new(Float64Array::from(numbers.to_vec()))
    }

    fn as_arrays(state: Vec<ScalarValue>) -> Vec<ArrayRef> {
        state.iter().map(|s| s.to_array().unwrap()).collect()
    }

    proptest! {
        /// As on many machines: each takes some rows, hands its state on, one merges.
        #[test]
        fn states_that_are_handed_on_come_to_the_whole(
            rows in prop::collection::vec((prop::option::of(-50.0..50.0f64), -50.0..50.0f64), 1..100),
            at in 0usize..100,
        ) {
            let at = at.min(rows.len());
            let columns = |part: &[(Option<f64>, f64)]| -> Vec<ArrayRef> {
                let x: Vec<Option<f64>> = part.iter().map(|r| r.0).collect();
                let y: Vec<Option<f64>> = part.iter().map(|r| Some(r.1)).collect();
                vec![column(&x), column(&y)]
            };
            let mut whole = ComomentsSoFar(Comoments::new(2));
            whole.update_batch(&columns(&rows)).unwrap();
            let mut merged = ComomentsSoFar(Comoments::new(2));
            let mut sketches = SketchSoFar(Sketch::default());
            for part in [&rows[at..], &rows[..at]] {
                let mut one = ComomentsSoFar(Comoments::new(2));
                one.update_batch(&columns(part)).unwrap();
                merged.merge_batch(&as_arrays(one.state().unwrap())).unwrap();
                let mut one = SketchSoFar(Sketch::default());
                one.update_batch(&columns(part)[..1]).unwrap();
                sketches.merge_batch(&as_arrays(one.state().unwrap())).unwrap();
            }
            for (a, b) in merged.0.to_numbers().iter().zip(whole.0.to_numbers()) {
                prop_assert!((a - b).abs() <= 1e-8 * (1.0 + b.abs()), "{a} {b}");
            }
            let mut sketch = SketchSoFar(Sketch::default());
            sketch.update_batch(&columns(&rows)[..1]).unwrap();
            prop_assert_eq!(sketches.evaluate().unwrap(), sketch.evaluate().unwrap());
        }
    }

    #[test]
    fn parts_of_something_else_are_refused() {
        let mut two = ComomentsSoFar(Comoments::new(2));
        let mut three = ComomentsSoFar(Comoments::new(3));
        let state = as_arrays(two.state().unwrap());
        assert!(three.merge_batch(&state).is_err());
        assert!(
            two.merge_batch(&[Arc::new(Int64Array::from(vec![1]))])
                .is_err()
        );
    }
}
