package notebook

import (
	"fmt"
	"os"
	"path/filepath"
	"runtime"
)

// Env is the variable of the environment that names the file, or is Off.
const Env = "WHEATEAR_NOTEBOOK"

// Off is what Env says where nothing is to be kept.
const Off = "off"

// Place is the file that Env names, else that in the user's folder for data: empty
// where Env is Off.
//
// The folder is $XDG_DATA_HOME or ~/.local/share (XDG Base Directory Specification),
// ~/Library/Application Support on macOS, %LocalAppData% on Windows.
func Place() (string, error) {
	switch file := os.Getenv(Env); file {
	case "":
	case Off:
		return "", nil
	default:
		return file, nil
	}
	dir, err := Folder()
	if err != nil {
		return "", fmt.Errorf("%w: name a file for the notebook with %s, or say %s=%s", err, Env, Env, Off)
	}
	return filepath.Join(dir, "notebook.db"), nil
}

// Folder is where the program keeps what is its user's own.
func Folder() (string, error) {
	dir, err := dataFolder(runtime.GOOS, os.Getenv)
	return filepath.Join(dir, "wheatear"), err
}

func dataFolder(system string, env func(string) string) (string, error) {
	home := "HOME"
	var below []string
	switch system {
	case "windows":
		home = "LocalAppData"
	case "darwin", "ios":
		below = []string{"Library", "Application Support"}
	default:
		if dir := env("XDG_DATA_HOME"); filepath.IsAbs(dir) {
			return dir, nil // a relative one is to be ignored
		}
		below = []string{".local", "share"}
	}
	dir := env(home)
	if dir == "" {
		return "", fmt.Errorf("notebook: no folder for data, as $%s is not set", home)
	}
	return filepath.Join(append([]string{dir}, below...)...), nil
}
