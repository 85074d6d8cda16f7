// A short sign that something worked. Vibration is not dependable and a bay is loud, so the screen flashes too.

const FLASH_MS = 250;

export function buzz(ms = 30) {
  navigator.vibrate?.(ms);
}

export function signal() {
  buzz(80);
  const flash = document.createElement("div");
  flash.className = "flash";
  document.body.append(flash);
  setTimeout(() => flash.remove(), FLASH_MS);
}
