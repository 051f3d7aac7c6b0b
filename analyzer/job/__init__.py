"""The job: everything besides the route, read from a file or from options, and settled."""

from __future__ import annotations

from analyzer.job.echo import job_values
from analyzer.job.options import job_from_options
from analyzer.job.reading import parse_job, read_job
from analyzer.job.settings import Job
from analyzer.job.writing import job_text

__all__ = [
    "Job",
    "job_from_options",
    "job_text",
    "job_values",
    "parse_job",
    "read_job",
]
