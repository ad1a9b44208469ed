package due

// Reckon is what every reckoning goes through.
var Reckon = reckon
