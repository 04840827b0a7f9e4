"""The classroom: small cells with a question, the student's prediction, a run, and the exact answer."""
