//! How chlorine, ammonia and chloramines turn into each other over time.
