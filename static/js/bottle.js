// Reads the code of a bottle with the camera, where the device can, and asks at once whether it is the one.
const form = document.querySelector("#bottle-form form");
if (form && "BarcodeDetector" in globalThis && navigator.mediaDevices) offer(form);

function offer(form) {
  const button = document.createElement("button"), video = document.createElement("video");
  button.type = "button"; button.className = "link"; button.textContent = "Read its code with the camera";
  video.muted = true; video.setAttribute("playsinline", ""); video.hidden = true; video.className = "finder";
  form.before(button, video);
  button.addEventListener("click", async () => {
    let stream;
    try { stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" } }); }
    catch { button.textContent = "The camera cannot be used. Type what the label says."; return; }
    const reader = new BarcodeDetector({ formats: ["qr_code"] });
    video.srcObject = stream; video.hidden = false; await video.play();
    const stop = () => { stream.getTracks().forEach((t) => t.stop()); video.hidden = true; };
    const until = Date.now() + 30000;
    const look = async () => {
      const seen = await reader.detect(video).catch(() => []);
      if (seen.length) { stop(); form.querySelector("[name=bottle]").value = seen[0].rawValue; form.requestSubmit(); }
      else if (Date.now() < until) setTimeout(look, 200);
      else { stop(); button.textContent = "No code seen. Try again"; }
    };
    look();
  });
}
