"""The samples of a book as results look for them: by what is written on them, by their reports."""

from __future__ import annotations

from collections.abc import Iterable
from uuid import UUID

from store.exams.specimens import LabSample
from store.exchange.lab.report_number import number_folded, report_number
from store.exchange.lab.rows import SHORT_NUMBER, Result


class Samples:
    """The samples of a book, found by what is written on them and by their reports.

    Parameters
    ----------
    samples
        All of them, those struck through as well.
    """

    def __init__(self, samples: Iterable[LabSample]) -> None:
        self._by_label: dict[str, list[LabSample]] = {}
        self._by_report: dict[str, list[LabSample]] = {}
        for one in samples:
            self._by_label.setdefault(number_folded(one.label), []).append(one)
            number = report_number(report_of(one)).folded
            if number:
                self._by_report.setdefault(number, []).append(one)

    def labelled(self, labels: Iterable[str]) -> list[LabSample]:
        """The samples with one of these labels.

        Parameters
        ----------
        labels
            Folded.
        """
        return [one for label in sorted(labels) for one in self._by_label.get(label, ())]

    def reported(self, result: Result) -> list[LabSample]:
        """The samples of the same report, of any version; without a number those of the label.

        Parameters
        ----------
        result
            Of which report.
        """
        if result.number.folded:
            return self._by_report.get(result.number.folded, [])
        found = self.labelled(labels_of(result))
        return [one for one in found if not report_number(report_of(one)).folded]


def awaited_for(result: Result, samples: Samples, pond: UUID | None = None) -> list[LabSample]:
    """The samples of the book that a result may be of, by what is written on them or its report.

    Parameters
    ----------
    result
        The result.
    samples
        Of the book; those struck through are passed over.
    pond
        The pond that the result is of, where that is known: there a shorter label is enough.

    Returns
    -------
    list of LabSample
        Awaited ones, and those of the same report. The laboratory's own number of one or two
        figures names no sample by itself: it counts behind the number of its report alone.
    """
    own = number_folded(result.sample)
    marks = {number_folded(one) for one in (result.mark, result.case) if one}
    if result.sample or result.mark:
        # A case alone names a sample only where the file has no number of the sample itself.
        marks.discard(number_folded(result.case))
    whole = {number_folded(f"{result.case}-{result.sample}"),
             number_folded(f"{result.number.number}-{result.sample}")}  # fmt: skip
    wanted = {one for one in (own, *marks, *whole) if len(one.replace("-", "")) >= SHORT_NUMBER}
    if pond is not None:
        wanted |= marks | (set() if own.isdigit() else {own})
    wanted.discard("")
    labels = labels_of(result)
    found = [one for one in samples.labelled(wanted) if one.result == "awaited"]
    if result.number.folded:
        found += [one for one in samples.reported(result) if number_folded(one.label) in labels]
    return [one for one in found if one.struck_at is None and (pond is None or one.pond_id == pond)]


def labels_of(result: Result) -> set[str]:
    """Whatever may be written on the sample of a result, folded.

    Parameters
    ----------
    result
        The result.
    """
    alone = (result.mark, result.sample, result.label)
    both = (f"{result.case}-{result.sample}", f"{result.number.number}-{result.sample}")
    return {number_folded(one) for one in (*alone, *both) if one}


def report_of(sample: LabSample) -> str:
    """The number of a sample's report; a file that is named for it goes without its ending.

    Parameters
    ----------
    sample
        Of the book.
    """
    return sample.report.removesuffix(".pdf")
