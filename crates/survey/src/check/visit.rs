//! Readings of one visit: dates are never mixed unasked.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::{Checking, list};
use crate::date_range::DateRange;
use crate::error::SurveyError;
use crate::finding::Finding;
use crate::insertion::Insertion;

impl<'a> Checking<'a> {
    pub(super) fn of_visit(
        &mut self,
        insertions: Vec<&'a Insertion>,
        asked: Option<DateRange>,
    ) -> Result<Vec<&'a Insertion>, SurveyError> {
        let mut counts: BTreeMap<Date, usize> = BTreeMap::new();
        for date in insertions.iter().filter_map(|insertion| insertion.date) {
            *counts.entry(date).or_default() += 1;
        }
        let undated = insertions.iter().filter(|insertion| insertion.date.is_none()).count();
        let Some(asked) = asked else {
            let mut dates = counts.keys();
            if let (Some(first), Some(second)) = (dates.next(), dates.next()) {
                return Err(SurveyError::MixedDates {
                    count: counts.len(),
                    list: list(&counts),
                    first: first.to_string(),
                    second: second.to_string(),
                });
            }
            match (counts.keys().next(), undated) {
                (Some(date), 1..) => self.findings.push(Finding::note(
                    format!("{undated} of {} records have no date", insertions.len()),
                    format!("taken as of {date}, like the others"),
                )),
                (None, 1..) => self.findings.push(Finding::note(
                    "no record has a date (property `date`)",
                    "the map cannot say of which visit it is",
                )),
                _ => {}
            }
            return Ok(insertions);
        };
        if !counts.keys().any(|&date| asked.contains(date)) {
            return Err(SurveyError::NoSuchDate {
                asked: asked.to_string(),
                list: if counts.is_empty() { "no dates".into() } else { list(&counts) },
            });
        }
        let all = insertions.len();
        let mut kept = Vec::new();
        for insertion in insertions {
            match insertion.date {
                Some(date) if asked.contains(date) => kept.push(insertion),
                Some(_) => {}
                None => {
                    self.leave_out(insertion, format!("has no date, and {asked} was asked for"));
                }
            }
        }
        let other_days = all - kept.len() - undated;
        if other_days > 0 {
            self.findings.push(Finding::note(
                format!("{other_days} of {all} records are not of {asked}"),
                "they are no part of this map",
            ));
        }
        Ok(kept)
    }
}
