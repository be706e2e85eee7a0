// The knife turned in the hand: the solid of `billet solid`, drawn by the vendored viewer only when it is asked for.

import { h } from "./parts.js";

export function turn(house) {
  const place = h("div", { class: "turn" });
  return h("details", { id: "turn", ontoggle: (e) => { if (e.target.open && !place.childNodes.length) begin(house, place); } }, h("summary", {}, "Turn it in the hand"), place);
}

async function begin(house, place) {
  const told = h("p", { class: "quiet", role: "status" }, "Laying the faces over the knife …");
  place.replaceChildren(told);
  try {
    const words = new URLSearchParams({ file: house.knife.file, blade: house.blade });
    const [reply, three, { GLTFLoader }, { OrbitControls }] = await Promise.all([fetch(`/api/solid?${words}`), import("./vendor/three.js"), import("./vendor/gltf.js"), import("./vendor/orbit.js")]);
    if (!reply.ok) throw new Error((await reply.json()).errors.map((e) => e.message).join(" "));
    const knife = (await new GLTFLoader().parseAsync(await reply.arrayBuffer(), "")).scene;
    hold(three, OrbitControls, knife, place);
  } catch (error) {
    const missing = /WebGL/.test(error.message);
    place.replaceChildren(h("p", { class: "wrong", role: "alert" }, missing ? "This browser draws nothing in three dimensions; `billet solid` writes the knife for a program that does." : error.message));
  }
}

function hold(three, OrbitControls, knife, place) {
  const canvas = h("canvas", { tabindex: 0, role: "img", "aria-label": "the knife as a solid; arrow keys turn it, plus and minus bring it nearer and further" });
  const renderer = new three.WebGLRenderer({ canvas, antialias: true, alpha: true, preserveDrawingBuffer: true });
  const scene = new three.Scene();
  const box = new three.Box3().setFromObject(knife);
  const size = box.getSize(new three.Vector3()), middle = box.getCenter(new three.Vector3());
  knife.position.sub(middle);
  knife.traverse((part) => { if (part.material) part.material.metalness = 0; }); // there is no room here for metal to mirror
  scene.add(knife, new three.HemisphereLight(0xffffff, 0x8d8a84, 2.6));
  const lamp = new three.DirectionalLight(0xffffff, 1.6);
  lamp.position.set(-0.4, 1, 0.9);
  scene.add(lamp);
  const camera = new three.PerspectiveCamera(28, 1, size.x / 100, size.x * 20);
  const controls = new OrbitControls(camera, canvas);
  controls.enablePan = false;
  controls.minDistance = size.x * 0.15;
  controls.maxDistance = size.x * 5;
  place.replaceChildren(canvas, h("p", { class: "quiet" }, "Drag to turn, wheel or two fingers to come nearer; arrow keys, + and - do the same."));
  const draw = () => renderer.render(scene, camera);
  const wide = () => Math.max(200, place.clientWidth), high = () => Math.round(Math.min(Math.max(0.36 * wide(), 220), 460)); // a knife lies long
  const fit = () => {
    renderer.setPixelRatio(Math.min(2, devicePixelRatio || 1));
    renderer.setSize(wide(), high(), false);
    camera.aspect = wide() / high();
    camera.updateProjectionMatrix();
    draw();
  };
  const half = Math.tan((camera.fov * Math.PI) / 360);
  camera.position.set(0.15, 0.2, 1).setLength((0.54 * size.x) / (half * wide() / high()));
  controls.update();
  controls.addEventListener("change", draw);
  canvas.addEventListener("keydown", (e) => {
    const by = { ArrowLeft: [-0.1, 0], ArrowRight: [0.1, 0], ArrowUp: [0, -0.1], ArrowDown: [0, 0.1] }[e.key];
    const near = { "+": 0.9, "=": 0.9, "-": 1.1 }[e.key];
    if (!by && !near) return;
    e.preventDefault();
    const at = new three.Spherical().setFromVector3(camera.position);
    if (by) { at.theta -= by[0]; at.phi = Math.min(3.1, Math.max(0.04, at.phi + by[1])); }
    if (near) at.radius = Math.min(controls.maxDistance, Math.max(controls.minDistance, at.radius * near));
    camera.position.setFromSpherical(at);
    controls.update();
    draw();
  });
  const watch = new ResizeObserver(fit);
  watch.observe(place);
  fit();
}
