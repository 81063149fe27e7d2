document.documentElement.classList.add("scripted");try{const t=localStorage.getItem("profilegen-theme");if(t==="light"||t==="dark")document.documentElement.dataset.theme=t}catch{}
