// Package hunt says whether an answer was known or searched for by trial and error, and shows its evidence.
package hunt
