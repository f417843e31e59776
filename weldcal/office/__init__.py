"""The office: many crews' books, their tables as files, questions over all jobs.

Books are the record and stay SQLite files; all else here follows from them and can be rebuilt.
"""
