package db

// Read is the reading transaction, for the test that it sees one moment.
var Read = (*Store).read
