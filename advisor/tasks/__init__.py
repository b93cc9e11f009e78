"""One file a task, one public function each."""
