//! Which rolls share a tank, and when each run happens: pure computation.
