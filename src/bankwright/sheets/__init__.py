"""Engine: data sheets read: what a maker printed becomes proposals for keys of a kind, each with its line.

Gives: read.py (a PDF or a pasted text to proposals), rooms rules (what each key is looked for by).
Limits: it reads words and numbers and decides nothing; what leaves room is a question.
"""
