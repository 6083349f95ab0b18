//! The numbers of tasks to the plan file's blocks and back.

use super::shape::{Day, DaysShape, LastTasksShape, TasksShape};
use crate::domain::ids::BatchId;
use crate::domain::task_numbers::{LastTaskNumbers, TaskKind, TaskNumbers};
use serde_yaml::FlowMap;
use std::collections::BTreeMap;

pub(super) fn to_shape(numbers: &TaskNumbers) -> Option<TasksShape> {
    let of = |wanted: TaskKind| -> DaysShape {
        let days = numbers.iter().filter(|((kind, _), _)| *kind == wanted);
        let days: BTreeMap<_, _> = days.map(|((_, day), number)| (Day(*day), *number)).collect();
        (!days.is_empty()).then_some(FlowMap(days))
    };
    let shape = || TasksShape {
        sow: of(TaskKind::Sow),
        transplant: of(TaskKind::Transplant),
        harvest: of(TaskKind::Harvest),
    };
    (!numbers.is_empty()).then(shape)
}

pub(super) fn from_shape(shape: Option<TasksShape>) -> TaskNumbers {
    let of = |kind: TaskKind, days: DaysShape| {
        let days = days.into_iter().flat_map(|FlowMap(days)| days);
        days.map(move |(Day(day), number)| ((kind, day), number))
    };
    let all = shape.into_iter().flat_map(|shape| {
        let kinds = [
            (TaskKind::Sow, shape.sow),
            (TaskKind::Transplant, shape.transplant),
            (TaskKind::Harvest, shape.harvest),
        ];
        kinds.into_iter().flat_map(move |(kind, days)| of(kind, days))
    });
    all.collect()
}

pub(super) fn last_to_shape(last: &LastTaskNumbers) -> Vec<FlowMap<LastTasksShape>> {
    let mut batches: Vec<&BatchId> = last.keys().map(|(batch, _)| batch).collect();
    batches.dedup();
    let shape = |batch: &BatchId| {
        let of = |kind| last.get(&(batch.clone(), kind)).copied();
        FlowMap(LastTasksShape {
            batch: batch.to_string(),
            sow: of(TaskKind::Sow),
            transplant: of(TaskKind::Transplant),
            harvest: of(TaskKind::Harvest),
        })
    };
    batches.into_iter().map(shape).collect()
}

pub(super) fn last_from_shape(shape: Vec<FlowMap<LastTasksShape>>) -> LastTaskNumbers {
    let of = |FlowMap(last): FlowMap<LastTasksShape>| {
        let kinds = [
            (TaskKind::Sow, last.sow),
            (TaskKind::Transplant, last.transplant),
            (TaskKind::Harvest, last.harvest),
        ];
        let batch = BatchId::new(last.batch);
        kinds.into_iter().filter_map(move |(kind, number)| Some(((batch.clone(), kind), number?)))
    };
    shape.into_iter().flat_map(of).collect()
}
