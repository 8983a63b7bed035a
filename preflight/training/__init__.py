"""Practice on the same stations: drills with planted faults, judged by the same `assess` as any start-up."""
