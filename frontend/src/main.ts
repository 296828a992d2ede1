import '@fontsource-variable/hanken-grotesk'
import './style/tokens.css'
import './style/base.css'
import './style/controls.css'
import './style/lists.css'
import './style/charts.css'
import { mount } from 'svelte'
import App from './App.svelte'
import { connection } from './state/connection.svelte'
import { startKeys } from './state/keys'
import { me } from './state/me.svelte'
import { router } from './state/router.svelte'
import { themes } from './state/theme.svelte'

themes.start()
connection.start()
me.start()
router.start()
startKeys()
// Whoever comes by a share link need not be anybody.
if (router.route.name !== 'shared') void me.load()

mount(App, { target: document.getElementById('app')! })
