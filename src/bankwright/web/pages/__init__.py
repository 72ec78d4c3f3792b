"""Face: the pages, one file a stage: each asks the desk, calls the job, fills a template."""
