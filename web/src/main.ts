import "@fontsource/fira-sans/latin-400.css";
import "@fontsource/fira-sans/latin-600.css";
import "./styles/colours.css";
import "./styles/base.css";
import { mount } from "svelte";
import App from "./App.svelte";

const place = document.getElementById("app");
if (place) mount(App, { target: place });
